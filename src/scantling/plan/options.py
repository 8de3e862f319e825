"""Firm options: which small edits of a brief make another whole plan of the same office, to lay beside the first."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from scantling.brief import Declined
from scantling.catalogue import CatalogueError
from scantling.figures import PinError, text
from scantling.plan.make import Inputs, Plan, make
from scantling.plan.spine import PlanError

GUEST, BOX, CLOUD, FIREWALL = "guest", "box", "cloud", "firewall"
ONE, TWO = "1", "2"
PURCHASE = "purchase."


@dataclass(frozen=True)
class Variant:
    """One firm option before it is planned: what it is called, what it changes, and the answers of the brief it sets."""

    slug: str
    name: str
    what_changes: str
    edits: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class OptionPlan:
    """One firm option as a whole plan; where none can be made, `why_not` says why.

    `left_out` are the pins and the declined advice of the brief that this plan has no use for.
    """

    variant: Variant
    plan: Plan | None
    left_out: tuple[str, ...] = ()
    why_not: str = ""

    @property
    def name(self) -> str:
        """What it is called at the head of its column."""
        return self.variant.name

    @property
    def what_changes(self) -> str:
        """In what it differs from the brief, in a sentence."""
        return self.variant.what_changes


AS_PLANNED = Variant("as-planned", "As planned", "Nothing: the brief as it stands.")


def variants(inputs: Inputs) -> Iterator[Variant]:
    """The brief as it stands, then what else the office could do: the firewall elsewhere, no server, two servers or one."""
    yield AS_PLANNED
    places = _places(inputs)
    for slug, (profile, where) in places.items():
        if profile == FIREWALL and where in (GUEST, BOX):
            yield _firewall(slug, where)
    guests = [slug for slug, (_, where) in places.items() if where == GUEST]
    if guests:
        yield _no_server(inputs, places)
        yield _hosts(inputs)
    elif places:
        edits = {f"services.{slug}.stands": GUEST for slug in places}
        yield Variant("one-server", "One server", "Every service runs on a server in the office.", edits)


def _section(inputs: Inputs, key: str) -> Any:
    """A section of the brief by its word, whichever trade owns it; None where the brief lacks it."""
    return next((section for kind, section in inputs.sections.items() if kind.key == key), None)


def _places(inputs: Inputs) -> dict[str, tuple[str, str]]:
    """For each service its profile and where it stands."""
    services = _section(inputs, "services")
    items = {} if services is None else services.items
    catalogue = inputs.catalogue
    return {slug: (catalogue.pick("profile", one.profile).slug, text(one.stands)) for slug, one in items.items()}


def _firewall(slug: str, where: str) -> Variant:
    if where == BOX:
        says = "The firewall runs on the server, on a machine of its own."
        return Variant("firewall-guest", "Firewall on the server", says, {f"services.{slug}.stands": GUEST})
    says = "The firewall runs on a device of its own."
    return Variant("firewall-box", "Firewall in a box", says, {f"services.{slug}.stands": BOX})


def _no_server(inputs: Inputs, places: Mapping[str, tuple[str, str]]) -> Variant:
    """Left with others where there is an offer, in a box where there is none."""
    offers = inputs.catalogue.rows.get("rented", {})
    moved = {slug: CLOUD if profile in offers else BOX for slug, (profile, _) in places.items()}
    rented = [slug for slug, where in moved.items() if where == CLOUD]
    boxed = [slug for slug, where in moved.items() if where == BOX]
    says = "No server. " + " ".join(
        f"{lead}: {', '.join(slugs)}." for lead, slugs in (("Left with others", rented), ("In boxes", boxed)) if slugs
    )
    return Variant(
        "no-server", "No server", says, {f"services.{slug}.stands": where for slug, where in moved.items()}
    )


def _hosts(inputs: Inputs) -> Variant:
    build = _section(inputs, "build")
    if build is not None and text(build.hosts) == TWO:
        return Variant("one-host", "One server", "One larger server in place of two.", {"build.hosts": ONE})
    says = "Two smaller servers, each able to carry all machines when the other is lost."
    return Variant("two-hosts", "Two smaller servers", says, {"build.hosts": TWO})


def planned(variant: Variant, inputs: Inputs) -> OptionPlan:
    """The whole plan of an option; pins and declined advice that it has no use for are left out and named."""
    if variant is AS_PLANNED:
        return OptionPlan(variant, make(inputs))
    try:
        return OptionPlan(variant, make(inputs))
    except (PinError, PlanError, CatalogueError):  # told below, once what it has no use for is left out
        return _without(variant, inputs)


def _without(variant: Variant, inputs: Inputs) -> OptionPlan:
    bare = _with(inputs, frozenset(), frozenset())
    try:
        plan = make(bare)
    except (PlanError, CatalogueError) as wrong:
        return OptionPlan(variant, None, (), str(wrong))
    codes = {told.finding.code for told in plan.findings} | {finding.code for finding in plan.checked}
    known = frozenset(id_ for id_ in inputs.pins if id_ in plan.figures)
    declined = frozenset(code for code in _declined(inputs) if code.upper() in codes)
    for pins in (known, frozenset(id_ for id_ in known if not id_.startswith(PURCHASE)), frozenset[str]()):
        try:
            plan = make(_with(inputs, pins, declined))
        except (PinError, PlanError):  # a pin on parts that this option has no such sets of
            continue
        left = [*sorted(inputs.pins.keys() - pins), *sorted(_declined(inputs) - declined)]
        return OptionPlan(variant, plan, tuple(left))
    return OptionPlan(variant, plan, tuple(sorted(inputs.pins)))


def _declined(inputs: Inputs) -> frozenset[str]:
    section = inputs.sections.get(Declined)
    return frozenset(section.items) if isinstance(section, Declined) else frozenset()


def _with(inputs: Inputs, pins: frozenset[str], declined: frozenset[str]) -> Inputs:
    """The same with only these pins and this declined advice."""
    sections = dict(inputs.sections)
    if isinstance(section := sections.get(Declined), Declined):
        kept = {code: refusal for code, refusal in section.items.items() if code in declined}
        sections[Declined] = section.model_copy(update={"items": kept})
    return replace(inputs, sections=sections, pins={id_: pin for id_, pin in inputs.pins.items() if id_ in pins})
