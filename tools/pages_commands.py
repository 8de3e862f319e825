"""The page of commands, as the command line itself tells them."""

from collections.abc import Iterator

import click

from scantling.cli import cli

WIDTH = 100
OPENING = """\
# Commands

Made from the code by `python tools/pages.py`: do not edit.

"""


def page() -> str:
    """Every command's help, in the order of their names."""
    return OPENING + "\n".join(_section("scantling", cli, None))


def _section(name: str, command: click.Command, parent: click.Context | None) -> Iterator[str]:
    word = name.rsplit(" ", maxsplit=1)[-1]
    context = click.Context(command, parent, info_name=word, terminal_width=WIDTH, **command.context_settings)
    yield f"## {name}\n\n```text\n{command.get_help(context)}\n```\n"
    if isinstance(command, click.Group):
        for below in sorted(command.list_commands(context)):
            inner = command.get_command(context, below)
            if inner is not None and not inner.hidden:
                yield from _section(f"{name} {below}", inner, context)
