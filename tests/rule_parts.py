"""A file of rules in several transactions, for an ordinary user.

Without the right to a longer queue nftables can send a kernel only so much at once, and who is root in a namespace of
one's own has no such right. Every statement is the file's own; only the step in which it is loaded differs.
"""

from collections.abc import Iterator

MOST = 100
"""Rules that fit into one message in any case."""


def parts(rules: str) -> list[str]:
    """The file as it is if it is short, else all but its rules, and then its rules a hundred at a time."""
    told = list(_told(rules.splitlines()))
    added = [line for line, is_rule in told if is_rule]
    if len(added) <= MOST:
        return [rules]
    frame = "\n".join(line for line, is_rule in told if not is_rule) + "\n"
    return [frame, *("\n".join(added[start : start + MOST]) + "\n" for start in range(0, len(added), MOST))]


def _told(lines: list[str]) -> Iterator[tuple[str, bool]]:
    """Each line, a rule as a command of its own, and whether it is a rule."""
    table, chain = "", ""
    for line in lines:
        words = line.split()
        if line.startswith("table ") and line.endswith("{"):
            table = " ".join(words[1:3])
        elif line.startswith("\t") and line.endswith("{"):
            chain = words[1] if words[0] == "chain" else ""
        is_rule = line.startswith("\t\t") and bool(chain) and words[0] != "type"
        yield (f"add rule {table} {chain} {line.strip()}" if is_rule else line), is_rule
