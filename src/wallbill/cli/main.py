"""The entry point: finds the command, runs it, and turns every fault into words and an exit status.

Exit status: 0 good, 1 findings or failure, 2 usage, 130 interrupted.
"""

import sys
import traceback
from collections.abc import Sequence

import click

from wallbill.cli.commands import LazyGroup
from wallbill.cli.shell import hush_output
from wallbill.errors import FaultList, WallbillError

GOOD, FAILED, USAGE, INTERRUPTED = 0, 1, 2, 130


@click.group(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(package_name="wallbill", message="%(prog)s %(version)s")
@click.option("--trace", is_flag=True, help="Print the whole trace of a failure in Wallbill's own code.")
def wallbill(*, trace: bool) -> None:
    """Put pages of changing facts on reflective panels, and keep them right."""


def main() -> None:
    """Run the command that was typed, and leave with its exit status."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: Sequence[str]) -> int:
    """Run one command and give its exit status; every fault is printed, none is raised."""
    try:
        status = wallbill.main(args=list(arguments), prog_name="wallbill", standalone_mode=False)
        sys.stdout.flush()  # a reader that has gone is noticed here, not at exit
        return status if isinstance(status, int) else GOOD
    except click.exceptions.NoArgsIsHelpError as error:
        _say(error.format_message())
        return USAGE
    except click.UsageError as error:
        _say_usage(error)
        return USAGE
    except click.ClickException as error:
        _say(error.format_message())
        return FAILED
    except (click.Abort, KeyboardInterrupt):
        _say("interrupted")
        return INTERRUPTED
    except BrokenPipeError:
        hush_output()
        return FAILED
    except WallbillError as error:
        _say(told(error))
        return FAILED
    except OSError as error:
        _say(_refused(error))
        return FAILED
    except Exception as error:  # noqa: BLE001  the last net: whatever else happens is told, not thrown at people
        _say(_own_failure(error, trace="--trace" in arguments))
        return FAILED


def _say(text: str) -> None:
    click.echo(text, err=True)


def _say_usage(error: click.UsageError) -> None:
    command = error.ctx.command_path if error.ctx else "wallbill"
    what = error.format_message()
    _say(f"{command}: {what[:1].lower()}{what[1:].removesuffix('.')}")
    _say(f"  mend: `{command} --help` says how it is called.")


def told(error: WallbillError) -> str:
    """An error as it is printed: ``file:line field: what`` and the mend below it; each fault of a list in turn."""
    if not isinstance(error, FaultList):
        return str(error)
    text = "\n".join(told(fault) for fault in error.faults)
    return f"{text}\n{len(error.faults)} faults" if len(error.faults) > 1 else text


def _refused(error: OSError) -> str:
    """What the system refused: a full disk, a file that may not be written, a machine that does not answer."""
    head = f"{error.filename}: " if error.filename else ""
    return (
        f"{head}{(error.strerror or str(error))}\n  mend: Make room or give leave there, then run it again."
    )


def _own_failure(error: Exception, *, trace: bool) -> str:
    """What is said when the fault is Wallbill's own: one line and what to do, or the whole trace if asked for."""
    if trace:
        return "".join(traceback.format_exception(error)).rstrip()
    frames = traceback.extract_tb(error.__traceback__)
    at = f" ({frames[-1].filename.rpartition('wallbill/')[2]}:{frames[-1].lineno})" if frames else ""
    said = " ".join(str(error).split())
    return (
        f"this is a fault of Wallbill's own, not of yours: {type(error).__name__}: {said}{at}\n"
        "  mend: Run it again as `wallbill --trace …` and report what that prints to Wallbill's keepers; nothing is lost."
    )
