"""A file of rules as a side of the case: the kernel's listing, or access lists of RFC 8519, told apart by what is in them."""

from collections.abc import Iterable, Mapping
from typing import Any

from scantling.figures.spelled import shown
from scantling.outputs.files.packet_filter import set_name
from scantling.trials.proof.acl import ACLS, AccessLists
from scantling.trials.proof.rulings import Stage
from scantling.trials.proof.kernel import Kernel
from scantling.trials.proof.listing import Listed, Listing, RuleFileError, parsed, read_listing
from scantling.trials.proof.matching import Reading
from scantling.trials.proof.proving import Case
from scantling.trials.proof.sides import Rule, Side

WRITE_IT = "write the file with: nft -j list ruleset"
SCRIPT = ("table ", "add ", "flush ", "#!", "define ", "include ", "delete ")
KERNEL = "nftables"
LONGEST = 400


def side_of(text: str, name: str, case: Case) -> Side:
    """What a file of rules makes of every packet of an office. Raises RuleFileError in a person's words, with the place."""
    data = _data(text, name)
    try:
        if KERNEL in data:
            return _kernel(data[KERNEL], name, case)
        return _lists(data[ACLS], name, case)
    except RuleFileError as wrong:
        raise RuleFileError(shown(f"{name}: {wrong}", LONGEST)) from None


def _data(text: str, name: str) -> Mapping[str, Any]:
    """The data of a file that is one of both kinds."""
    start = next((line for line in text.splitlines() if line.strip() and not line.startswith("# ")), "")
    if start.startswith(SCRIPT):
        raise RuleFileError(
            f"{name}:1:1: this is a script for nft, which only a kernel can read whole; load it there, then {WRITE_IT}"
        )
    data = parsed(text, name)
    if isinstance(data, list):
        data = {KERNEL: data}
    if not isinstance(data, dict) or not {KERNEL, ACLS} & set(data):
        raise RuleFileError(
            f'{name}:1:1: this is JSON, but no file of rules: neither "{KERNEL}" (a kernel\'s listing) nor "{ACLS}" '
            f"(access lists of RFC 8519) stands in it; {WRITE_IT}"
        )
    wanted = (list,) if KERNEL in data else (dict,)
    key = KERNEL if KERNEL in data else ACLS
    if not isinstance(data[key], wanted):
        raise RuleFileError(f'{name}:1:1: what stands under "{key}" is no {wanted[0].__name__}; {WRITE_IT}')
    return data


def _kernel(objects: Any, name: str, case: Case) -> Side:
    """A listing of the kernel's."""
    listing = read_listing(objects)
    notes: dict[str, None] = {}
    stages: dict[int, tuple[Stage, ...]] = {}
    for court in case.courts:
        ground = court.ground
        parties = {
            set_name(party, ground.family): (party, ground.networks(networks))
            for party, networks, names in case.rules.sets
            if names
        }
        stages[ground.family] = Kernel(ground, listing, Reading(ground, listing, parties, notes)).stages()
    return Side(name, stages, _rules(listing, case), _printable(notes))


def _rules(listing: Listing, case: Case) -> dict[str, Rule]:
    """The rules of a listing; one whose comment begins with the number of a planned rule is made from the same intent."""
    flows = {rule.slug: rule.flow for rule in case.rules.rules}
    return {
        one.key: Rule(shown(one.told, LONGEST), shown(one.comment, LONGEST), _flow(one, flows))
        for one in listing.rules()
    }


def _flow(one: Listed, flows: Mapping[str, str]) -> str:
    return flows.get(one.comment.partition(" ")[0], "")


def _lists(data: Mapping[str, Any], name: str, case: Case) -> Side:
    """Access lists: their entries are named after the rules they are made from."""
    notes: dict[str, None] = {}
    stages = {court.ground.family: AccessLists(court.ground, data, notes).stages() for court in case.courts}
    flows = {rule.slug: rule.flow for rule in case.rules.rules}
    rules: dict[str, Rule] = {}
    for many in stages.values():
        for by in [ruling.by for stage in many for ruling in stage.rulings if ruling.by.startswith("entry ")]:
            number = by.split()[1].partition(".")[0]
            rules[by] = Rule(shown(by, LONGEST), "", flows.get(number, ""))
    return Side(name, stages, rules, _printable(notes), translates=False, only_new=True)


def _printable(notes: Iterable[str]) -> tuple[str, ...]:
    """Notes as a terminal may show them: a file is somebody else's text."""
    return tuple(shown(note, LONGEST) for note in notes)
