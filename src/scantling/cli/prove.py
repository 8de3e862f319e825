"""The command that proves the firewall's rules: exactly what can reach what, held against what is meant."""

import sys
from pathlib import Path

import click

from scantling.cli.terminal import BRIEF, FINE, FIRM, STOPPED, shown, watched


@click.command("prove", short_help="Whether the firewall's rules do just what is meant.")
@BRIEF
@FIRM
@click.option("--packet", metavar="WORDS", default="", help='Follow one packet, such as "guests tcp files:445".')
@click.option(
    "--rules",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Prove this file in place of the plan's own rules.",
)
@click.option(
    "--against", metavar="FILE", type=click.Path(path_type=Path), help="Hold the rules against this file, too."
)
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON, the same bytes every time.")
def command(
    brief: Path, firm: Path | None, packet: str, rules: Path | None, against: Path | None, *, as_json: bool
) -> None:
    """Whether the firewall's rules do exactly what is meant: for every packet there can be, in both families.

    What is meant comes from the intents alone. Told are intents that do not hold, whatever is open that no intent asks
    for, each with a packet that shows it, the rule and the line of the brief, and rules that never decide. A file is the
    kernel's listing (nft -j list ruleset) or access lists (RFC 8519, JSON).

    A packet is who, protocol, to whom: zones, machines, devices, services, parties and addresses by their words, a port
    after a colon; at the end, if need be, "at fri 21:00", "v6".

    Exit code 0: proved; 1: something differs; 2: the input can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick

    made = watched(lambda tell: api.plan(brief, tell, firm))
    found = watched(lambda _: api.prove(made, rules, against, packet), "Following every packet")
    if as_json:
        shown(lambda: sys.stdout.buffer.write(api.proving_json(found).encode()))  # UTF-8 wherever it runs
    else:
        from scantling.cli.proof import show_proving  # noqa: PLC0415 - as above

        shown(lambda: show_proving(found))
    raise SystemExit(FINE if found.proved else STOPPED)
