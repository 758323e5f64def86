"""The command line: one file a verb. A verb reads, calls one function and prints.

Data goes to stdout, talk to stderr. Exit codes: 0 done, 3 every site is refused, 2 the input cannot be used
(one line says why), 1 a bug (with its traceback).
"""

from __future__ import annotations

import sys

import click

from diproute.cli.air import air
from diproute.cli.load import load
from diproute.cli.map import map_
from diproute.cli.plan import plan
from diproute.cli.sample import sample
from diproute.errors import DiprouteError
from diproute.version import __version__


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(__version__, prog_name="diproute")
def cli() -> None:
    """Find dip sites for helicopter bucket work, and what each delivers: load, route, cycle, water per hour.

    An estimate for planning. The flight manual, the operator, local rules and the pilot in command decide.
    """


for verb in (plan, map_, air, load, sample):
    cli.add_command(verb)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; turn what a user can mend into one plain line and exit code 2."""
    try:
        code = cli.main(args=arguments, prog_name="diproute", standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as help_asked:
        click.echo(help_asked.format_message(), err=True)
        sys.exit(2)
    except click.ClickException as wrong:
        where = wrong.ctx.command_path if isinstance(wrong, click.UsageError) and wrong.ctx else "diproute"
        click.echo(f"{where}: {' '.join(wrong.format_message().split())} (see {where} --help)", err=True)
        sys.exit(2)
    except DiprouteError as wrong:
        click.echo(f"diproute: {wrong}", err=True)
        sys.exit(2)
    except click.Abort:
        click.echo("diproute: stopped; nothing was written", err=True)
        sys.exit(130)
    sys.exit(code if isinstance(code, int) else 0)
