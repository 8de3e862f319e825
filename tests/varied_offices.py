"""Offices drawn at random from a seed: 3 to 120 people, every kind of answer, each brief whole; the same seed, the same brief."""

from random import Random

NAMES = (
    "Quayside Surveys",
    "Alder & Finch",
    "Northway Clinic",
    "Tidewell Design",
    "Holm Street Studio",
    "Cuirt na gCrann",
)
EVERYWHERE = ("firewall", "directory", "names and addresses", "files", "backup")
SOMETIMES = (
    "print", "wireless controller", "network monitor", "content filter", "business application", "database",
    "remote access", "camera recorder",
)  # fmt: skip
ROLES = (
    ("office", "mon-fri", "08:30-17:30"), ("field", "mon-sat", "07:00-16:00"), ("early", "mon-fri", "06:00-14:00"),
    ("late", "mon-fri", "14:00-22:00"), ("weekend", "sat sun", "10:00-18:00"),
)  # fmt: skip


def varied(seed: int) -> str:
    """A whole brief; what stands in it, and how much, turns on the seed alone."""
    draw = Random(seed)
    heads = draw.randint(3, 120)
    lines = [
        f"office: {{name: {draw.choice(NAMES)}, country: IE, currency: EUR, as_of: 2026-11-25, horizon: {draw.randint(3, 7)} year}}",
        f"support: {{who: Orla Quinn, reach: {draw.choice((1, 2, 4, 8, 24))} h}}",
        *_people(draw, heads), *_devices(draw, heads), *_visitors(draw), *_premises(draw, heads), *_lines(draw, heads),
    ]  # fmt: skip
    services = (*EVERYWHERE, *draw.sample(SOMETIMES, draw.randint(0, len(SOMETIMES))))
    lines += ["services:", *(_service(draw, profile) for profile in services)]
    lines += [
        *_data(draw, heads, services),
        f"backup: {{near: box, away: {draw.choice(('disks', 'disks', 'online', 'tape'))}}}",
    ]
    lines += [f"power: {{hold: {draw.choice((5, 8, 10, 15))} min}}", "budget: {once: 250000 EUR, tax: 23 %}"]
    return "\n".join(lines) + "\n"


def _people(draw: Random, heads: int) -> list[str]:
    kinds, left, told = draw.sample(ROLES, draw.randint(1, min(len(ROLES), heads))), heads, []
    for place, (slug, days, hours) in enumerate(kinds):
        after = len(kinds) - place - 1
        here = left if not after else draw.randint(1, left - after)
        left -= here
        growth = draw.choice((0, 2, 5, 10, 20))
        told.append(
            f'    {slug}: {{name: {slug}, heads: {here}, growth: {growth} %/year, days: {days}, hours: "{hours}"}}'
        )
    return ["people:", "  roles:", *told]


def _devices(draw: Random, heads: int) -> list[str]:
    told = [
        "devices:",
        f"  pcs: {{kind: pc, count: {heads}, zone: staff}}",
        "  printers: {kind: printer, count: 2, zone: staff}",
    ]
    few = {
        "laptop": ("laptop", "staff", heads),
        "phone": ("phone", "phones", heads),
        "camera": ("camera", "cameras", 24),
    }
    few |= {
        "till": ("payment terminal", "payments", 8),
        "machine": ("control", "workshop", 30),
        "ap": ("access point", "management", 9),
    }
    for slug, (kind, zone, most) in draw.sample(sorted(few.items()), draw.randint(0, len(few))):
        told.append(f"  {slug}: {{kind: {kind}, count: {draw.randint(1, most)}, zone: {zone}}}")
    return told


def _visitors(draw: Random) -> list[str]:
    if draw.random() < 0.4:
        return []
    people = draw.choice((5, 30, 120, 450))
    told = (
        f"visitors: {{join: {draw.choice((20, 50, 80))} %, events: {{show: {{name: Show, people: {people}, days: fri sat,"
        f' doors: "19:00", arrive: {draw.choice((30, 60))} min, stay: {draw.choice((1, 3))} h}}}}}}'
    )
    return [told]


def _premises(draw: Random, heads: int) -> list[str]:
    cabinet = heads > 15 or draw.random() < 0.5
    space = "depth: 1000 mm, height: 2200 mm" if cabinet else "depth: 750 mm, height: 1800 mm"
    told = (
        f"premises: {{noise: {draw.choice((48, 55, 65))} dB, cabinet: {{wanted: {'yes' if cabinet else 'no'}, {space}, place: store}},"
        f" circuits: {{store: {{rating: {draw.choice((16, 20))} A, already: {draw.choice((0, 300, 600))} W}}}}}}"
    )
    return [told]


def _lines(draw: Random, heads: int) -> list[str]:
    down = draw.choice((100, 250, 500, 1000)) + 5 * heads
    standby = ", standby: {name: Radio, down: 50 Mbit/s, up: 10 Mbit/s, standby: yes}" if draw.random() < 0.4 else ""
    return [
        f"lines: {{fibre: {{name: Fibre, down: {down} Mbit/s, up: {down // 2} Mbit/s, monthly: 55 EUR}}{standby}}}"
    ]


def _service(draw: Random, profile: str) -> str:
    down, lost = draw.choice((8, 24, 48)), draw.choice((12, 24, 72))
    return f"  {profile.replace(' ', '-')}: {{profile: {profile}, down: {down} h, lost: {lost} h}}"


def _data(draw: Random, heads: int, services: tuple[str, ...]) -> list[str]:
    told = ["data:", "  sets:"]
    size = heads * draw.choice((5, 20, 60, 150))
    growth = draw.choice((0, 5, 12, 25))
    told.append(
        f"    shared: {{name: Shared, kind: documents, size: {size} GB, files: {9000 * heads}, growth: {growth} %/year, service: files}}"
    )
    if draw.random() < 0.5:
        adds = draw.choice((0, 1, 3))
        told.append(
            f"    video: {{name: Video, kind: video, size: {draw.randint(1, 8)} TB, files: 20000, adds: {adds} TB/year, service: files}}"
        )
    if "database" in services:
        told.append(
            f"    records: {{name: Records, kind: database, size: {2 * heads} GB, files: 200, service: database}}"
        )
    return told
