"""The entry point: finds the command, runs it, and turns every fault into words and an exit status.

Exit status: 0 good, 1 findings or failure, 2 usage, 130 interrupted, 143 ended by SIGTERM.
"""

import sys
import traceback
from collections.abc import Sequence

import click

from wallbill.cli.commands import LazyGroup
from wallbill.cli.shell import EndedError, end_in_order, hush_output, leave
from wallbill.cli.telling import told
from wallbill.errors import WallbillError

GOOD, FAILED, USAGE, INTERRUPTED, ENDED = 0, 1, 2, 130, 143


@click.group(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(package_name="wallbill", message="%(prog)s %(version)s")
@click.option("--trace", is_flag=True, help="Print the whole trace of a failure in Wallbill's own code.")
def wallbill(*, trace: bool) -> None:
    """Put pages of changing facts on reflective panels, and keep them right."""


def main() -> None:
    """Run the command that was typed, and leave with its exit status."""
    end_in_order()
    status = run(sys.argv[1:])
    if status in {INTERRUPTED, ENDED}:
        leave(status)
    sys.exit(status)


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
    except EndedError:
        _say("ended")
        return ENDED
    except BrokenPipeError:
        hush_output()
        return FAILED
    except Exception as error:  # noqa: BLE001  the last net: whatever else happens is told, not thrown at people
        is_traced = "--trace" in arguments and not isinstance(error, WallbillError | OSError)
        _say("".join(traceback.format_exception(error)).rstrip() if is_traced else told(error))
        return FAILED


def _say(text: str) -> None:
    click.echo(text, err=True)


def _say_usage(error: click.UsageError) -> None:
    command = error.ctx.command_path if error.ctx else "wallbill"
    what = error.format_message()
    _say(f"{command}: {what[:1].lower()}{what[1:].removesuffix('.')}")
    _say(f"  mend: `{command} --help` says how it is called.")
