"""Faults in words, exit statuses, and help without a module imported: in this process and once in another."""

import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from wallbill.cli import commands, main
from wallbill.errors import FaultList, Place, WallError

TWO = FaultList(
    (
        WallError("first is wrong", where=Place("wall.toml", 3, "wall.name"), mend="Mend it."),
        WallError("second is wrong", where=Place("wall.toml", 9)),
    )
)


def raising(error: BaseException) -> click.Command:
    @click.command("fail")
    def command() -> None:
        raise error

    return command


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> list[BaseException]:
    """A command ``panels`` that raises the last error put into the list."""
    errors: list[BaseException] = []

    def get(_self: object, _ctx: object, _name: str) -> click.Command:
        return raising(errors[-1])

    monkeypatch.setattr(commands.LazyGroup, "get_command", get)
    return errors


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (
            WallError("it is wrong", where=Place("wall.toml", 3, "wall.name"), mend="Mend it."),
            1,
            "wall.toml:3 wall.name: it is wrong\n  mend: Mend it.\n",
        ),
        (
            TWO,
            1,
            "wall.toml:3 wall.name: first is wrong\n  mend: Mend it.\nwall.toml:9: second is wrong\n2 faults\n",
        ),
        (
            click.UsageError("No such thing."),
            2,
            "wallbill panels: no such thing\n  mend: `wallbill panels --help`",
        ),
        (click.ClickException("it broke"), 1, "it broke\n"),
        (KeyboardInterrupt(), 130, "interrupted\n"),
        (PermissionError(13, "Permission denied", "out.png"), 1, "out.png: Permission denied\n  mend: "),
        (OSError("odd"), 1, "odd\n  mend: "),
        (
            ZeroDivisionError("by\nzero"),
            1,
            "a fault of Wallbill's own, not of yours: ZeroDivisionError: by zero (",
        ),
    ],
)
def test_a_fault_is_told_and_has_a_status(
    failing: list[BaseException],
    capsys: pytest.CaptureFixture[str],
    *,
    error: BaseException,
    status: int,
    said: str,
) -> None:
    failing.append(error)
    assert main.run(["panels"]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert "Traceback" not in err


def test_the_trace_of_an_own_fault_is_printed_when_asked_for(
    failing: list[BaseException], capsys: pytest.CaptureFixture[str]
) -> None:
    failing.append(ZeroDivisionError("by zero"))
    assert main.run(["--trace", "panels"]) == 1
    err = capsys.readouterr().err
    assert err.startswith("Traceback")
    assert err.endswith("ZeroDivisionError: by zero\n")


def test_every_command_of_the_table_is_there_and_has_help() -> None:
    for name in commands.COMMANDS:
        result = CliRunner().invoke(main.wallbill, [name, "--help"])
        assert result.exit_code == 0, name
        assert result.output.startswith(f"Usage: wallbill {name} ")


def test_a_misspelt_command_is_answered_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.run(["panls"]) == 2
    assert capsys.readouterr().err == (
        "wallbill: there is no command 'panls'. Did you mean 'panels'?\n"
        "  mend: `wallbill --help` says how it is called.\n"
    )


def test_no_command_prints_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main.run([]) == 2
    assert "Commands:" in capsys.readouterr().err


def wallbill(*arguments: str) -> subprocess.CompletedProcess[str]:
    """The installed command in a process of its own."""
    program = Path(sys.executable).with_name("wallbill")
    return subprocess.run([str(program), *arguments], capture_output=True, text=True, timeout=60, check=False)


def test_the_installed_command(tmp_path: Path) -> None:
    assert wallbill("--version").stdout.startswith("wallbill ")
    found = wallbill("panels", "5.8in-648x480-black-white-red")
    assert (found.returncode, found.stderr) == (0, "")
    wrong = wallbill("panels", "none-such")
    assert (wrong.returncode, wrong.stdout) == (1, "")
    assert "no panel 'none-such'" in wrong.stderr
    usage = wallbill("panels", "--colour")
    assert usage.returncode == 2
    assert "no such option" in usage.stderr
    made = wallbill("new", str(tmp_path / "hut"))
    assert made.returncode == 0
    again = wallbill("new", str(tmp_path / "hut"))
    assert again.returncode == 1
    assert "not empty" in again.stderr
    for result in (found, wrong, usage, made, again):
        assert "Traceback" not in result.stderr


def test_a_reader_that_goes_away_is_no_fault_to_tell() -> None:
    program = Path(sys.executable).with_name("wallbill")
    with subprocess.Popen(
        [str(program), "panels", "--json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout
        assert process.stderr
        process.stdout.close()  # before the program has written anything
        said = process.stderr.read()
        assert process.wait(timeout=60) == 1
    assert said == b""


def test_help_imports_no_command() -> None:
    script = (
        "import sys\n"
        "from wallbill.cli.main import run\n"
        "assert run(['--help']) == 0\n"
        "heavy = {'numpy', 'pydantic', 'PIL', 'jinja2', 'babel', 'blitz', 'httpx2'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr
