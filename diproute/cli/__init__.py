"""The command line: one file a verb. A verb reads, calls one function and prints.

Data goes to stdout, talk to stderr. Exit codes: 0 done, 3 every site is refused, 2 the input cannot be used
(one line says why), 1 a bug (with its traceback). A reader that closes the pipe has enough: 0, and no word.
"""

from __future__ import annotations

import os
import sys
import threading
from pathlib import Path
from typing import NoReturn

import click

from diproute.cli.air import air
from diproute.cli.brief import brief
from diproute.cli.export import export
from diproute.cli.load import load
from diproute.cli.map import map_
from diproute.cli.plan import plan
from diproute.cli.sample import sample
from diproute.cli.share import share
from diproute.errors import DiprouteError, plain
from diproute.reading.drivers import arm
from diproute.version import __version__

STOPPED = 130  # by Ctrl-C, as shells count it


def _pages() -> Path:
    """Give the folder of the pages that messages name: in the installed package, or beside it in a checkout."""
    package = Path(__file__).parents[1]
    return next((place for place in (package / "docs", package.parent / "docs") if place.is_dir()), package)


@click.group(
    epilog=f"\b\nPages that messages name (docs/...) lie in\n{_pages()}",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
)
@click.version_option(__version__, prog_name="diproute")
def cli() -> None:
    """Find dip sites for helicopter bucket work, and what each delivers: load, route, cycle, water per hour.

    An estimate for planning. The flight manual, the operator, local rules and the pilot in command decide.
    """


for verb in (plan, map_, brief, export, air, load, sample, share):
    cli.add_command(verb)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; turn what a user can mend into one plain line and exit code 2.

    Before anything of GDAL is loaded the process is armed against hostile layers (docs/security.md).
    """
    arm()
    try:
        code = _run(sys.argv[1:] if arguments is None else list(arguments))
    except click.exceptions.NoArgsIsHelpError as help_asked:
        click.echo(help_asked.format_message(), err=True)
        sys.exit(2)
    except click.ClickException as wrong:
        where = wrong.ctx.command_path if isinstance(wrong, click.UsageError) and wrong.ctx else "diproute"
        _refuse(f"{' '.join(wrong.format_message().split())} (see {where} --help)", where)
    except DiprouteError as wrong:
        _refuse(str(wrong))
    except (BrokenPipeError, SystemExit):  # the second is rich's, over the same thing
        _leave_pipe()
    except UnicodeEncodeError as wrong:
        letter = wrong.object[wrong.start : wrong.start + 1]
        _refuse(f"the output cannot hold {letter!a} in its encoding, {wrong.encoding}; set PYTHONIOENCODING=utf-8")
    except MemoryError:
        _refuse("there is not enough memory; make the search smaller, or keep fewer sites or hours")
    except OSError as wrong:
        name = f"{wrong.filename}: " if wrong.filename else ""
        _refuse(f"{name}{wrong.strerror or wrong}; check the place and your permissions")
    except (click.Abort, KeyboardInterrupt):
        _stop()
    sys.exit(code)


def _run(arguments: list[str]) -> int:
    try:
        with cli.make_context("diproute", arguments) as context:
            code = cli.invoke(context)
    except click.exceptions.Exit as done:  # --help, --version
        code = done.exit_code
    sys.stdout.flush()
    return code if isinstance(code, int) else 0


def _refuse(why: str, who: str = "diproute") -> NoReturn:
    click.echo(f"{who}: {plain(why)}", err=True)
    sys.exit(2)


def _stop() -> NoReturn:
    """Leave at once; what other threads are working out is of no use any more, and files are written by this one."""
    click.echo("diproute: stopped", err=True)
    if threading.active_count() > 1:
        sys.stdout.flush()
        os._exit(STOPPED)
    sys.exit(STOPPED)


def _leave_pipe() -> NoReturn:
    """Leave without a word; what is still to be flushed goes nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(0)
