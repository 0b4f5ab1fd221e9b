"""The command line ``roof-lcc``; a command is imported when it runs, so that help comes at once."""

import gc
from importlib import import_module

import click

from lcc import __version__

# Name of a command -> the module that has it, and what the list of commands says of it.
COMMANDS = {
    "serve": ("web.serve_command", "Serve the pages and the API."),
    "compare": ("web.case_commands", "Compare the alternatives of a CASE file."),
    "proposal": ("web.proposal.proposal_command", "Typeset the proposal for a CASE file as a PDF."),
    "portfolio": ("web.portfolio_cli", "Rank the roofs of a table."),
    "assembly": (
        "web.case_commands",
        "Figure U-value, time lag and more of assemblies in a file, as JSON.",
    ),
    "checks": ("web.checks_command", "Show every check by kind of evidence."),
}


class Commands(click.Group):
    """A group whose commands are imported one by one."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of the commands, the most used first."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command from its module."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        gc.disable()  # what modules are made of stays: to look it through takes 0.1 s
        command: click.Command = getattr(import_module(COMMANDS[cmd_name][0]), cmd_name)
        gc.freeze()
        gc.enable()
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands without importing any."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="roof-lcc")
def main() -> None:
    """Say what a low-slope roof costs: membranes again and again, or one metal retrofit."""
