"""A file of rules in several transactions, for an ordinary user.

Without the right to a longer queue nftables can send a kernel only so much at once, and who is root in a namespace of
one's own has no such right. Every statement is the file's own; only the step in which it is loaded differs.
"""

from collections.abc import Iterator

SURE = 18_000
"""Octets of a file that fit into one message, of 212,992, whatever they say: there they take six to eleven times their room."""


def parts(rules: str, most: int = SURE) -> list[str]:
    """The file as it is if it is short; else the file without its later rules, and those by themselves."""
    if len(rules) <= most:
        return [rules]
    told = list(_told(rules.splitlines()))
    left = most - sum(len(line) + 1 for line, added in told if not added)
    first, later = "", [""]
    for line, added in told:
        left -= len(line) + 1 if added else 0
        if not added or left >= 0:
            first += line + "\n"
            continue
        if len(later[-1]) + len(added) + 1 > most:
            later.append("")
        later[-1] += added + "\n"
    return [first, *(part for part in later if part)]


def _told(lines: list[str]) -> Iterator[tuple[str, str]]:
    """Each line, and if it is a rule, the command that adds it by itself."""
    table, chain = "", ""
    for line in lines:
        words = line.split()
        if line.startswith("table ") and line.endswith("{"):
            table = " ".join(words[1:3])
        elif line.startswith("\t") and line.endswith("{"):
            chain = words[1] if words[0] == "chain" else ""
        is_rule = line.startswith("\t\t") and bool(chain) and words[0] != "type"
        yield line, f"add rule {table} {chain} {line.strip()}" if is_rule else ""
