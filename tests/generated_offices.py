"""Invented offices by head count alone: the same head count always gives the same brief, and more people need more."""

from collections.abc import Iterator

HEADS = (5, 6, 7, 8, 9, 10, 12, 13, 14, 15, 16, 18, 20, 24, 28, 32, 36, 40, 45, 50)
"""Twenty offices of 5 to 50 people."""

STEPS = tuple(range(5, 121, 5))
"""Every fifth head count up to 120."""

SMALL = 15
"""Up to so many people an office has the five services that every office has; above it more (CHECKS, facts of the trade:
the band of cores and memory changes at 15 people)."""

PRINTS_FROM = 8
BUSINESS = ("Quayside Surveys", "Alder & Finch", "Northway Clinic", "Tidewell Design", "Holm Street Studio")
SERVICES = ("firewall", "directory", "names and addresses", "files", "backup")
MORE_SERVICES = ("wireless controller", "network monitor", "content filter", "business application", "database")


def brief(heads: int) -> str:
    """A whole brief for so many people."""
    return "\n".join(_lines(heads)) + "\n"


def services(heads: int) -> tuple[str, ...]:
    """Profiles of the services that an office of so many people runs."""
    printing = ("print",) if heads >= PRINTS_FROM else ()
    return SERVICES + printing + (MORE_SERVICES if heads > SMALL else ())


def up(amount: float) -> int:
    """Whole things, rounded up."""
    return -int(-amount // 1)


def _lines(heads: int) -> Iterator[str]:
    name = BUSINESS[heads % len(BUSINESS)]
    yield f"# An invented office of {heads}, made for a test."
    yield f"office: {{name: {name}, country: IE, currency: EUR, as_of: 2026-11-25}}"
    yield "support: {who: Orla Quinn, reach: 4 h, on_site: Tom Farrell}"
    yield from _people(heads)
    yield from _devices(heads)
    yield from _premises(heads)
    yield f"lines: {{fibre: {{name: Fibre, down: {100 + 10 * heads} Mbit/s, up: {50 + 4 * heads} Mbit/s, monthly: 55 EUR}}}}"
    yield "services:"
    for profile in services(heads):
        yield f"  {profile.replace(' ', '-')}: {{profile: {profile}, down: 8 h, lost: 24 h}}"
    yield from _data(heads)
    yield 'backup: {near: box, away: disks, window: "20:00-07:00"}'
    yield f"budget: {{once: {9000 + 1400 * heads} EUR, tax: 23 %}}"


def _people(heads: int) -> Iterator[str]:
    office = up(heads * 0.6)
    yield "people:"
    yield "  roles:"
    yield f'    office: {{name: Office, heads: {office}, growth: 3 %/year, days: mon-fri, hours: "08:30-17:30"}}'
    yield f'    field: {{name: Field, heads: {heads - office}, growth: 2 %/year, days: mon-fri, hours: "07:30-16:30"}}'
    yield "visitors:"
    yield "  events:"
    yield f'    callers: {{name: Callers, people: {heads}, days: mon-fri, doors: "10:00", arrive: 60 min, stay: 2 h}}'


def _devices(heads: int) -> Iterator[str]:
    yield "devices:"
    yield f"  pcs: {{name: PCs, kind: pc, count: {heads}, zone: staff}}"
    yield f"  laptops: {{name: Laptops, kind: laptop, count: {up(heads * 0.5)}, zone: staff}}"
    yield f"  printers: {{name: Printers, kind: printer, count: {1 + heads // 12}, zone: staff}}"
    yield f"  phones: {{name: Telephones, kind: phone, count: {up(heads * 0.8)}, zone: phones}}"


def _premises(heads: int) -> Iterator[str]:
    cabinet = (
        "{wanted: yes, depth: 1000 mm, height: 2000 mm, place: store}"
        if heads > SMALL
        else "{wanted: no, depth: 700 mm, height: 1200 mm, place: store}"
    )
    yield "premises:"
    yield f"  noise: {50 if heads > SMALL else 42} dB"
    yield f"  cabinet: {cabinet}"
    yield "  circuits: {store: {rating: 16 A, already: 300 W}}"


def _data(heads: int) -> Iterator[str]:
    yield "data:"
    yield "  sets:"
    yield (
        f"    shared: {{name: Shared documents, kind: documents, size: {60 * heads} GB, files: {20000 * heads},"
        " growth: 12 %/year, service: files}"
    )
    yield (
        f"    images: {{name: Photographs, kind: images, size: {40 * heads} GB, files: {3000 * heads},"
        " growth: 10 %/year, service: files}"
    )
    if heads > SMALL:
        yield (
            f"    orders: {{name: Orders, kind: database, size: {2 * heads} GB, files: 200, growth: 10 %/year,"
            " service: database}"
        )
