"""Lists of rules as boxes of numbers, drawn by chance: of an office with zones, of many sites, and small ones of any shape."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random

Form = tuple[tuple[int, int], ...]
Box = tuple[Form, ...]
WEEK, HOUR, DAY = 604800, 3600, 86400
SERVICES = (
    (6, 22), (6, 25), (6, 53), (17, 53), (6, 80), (17, 123), (6, 139), (6, 143), (17, 161), (6, 389), (6, 443), (6, 445),
    (6, 587), (6, 631), (6, 636), (6, 993), (6, 3389), (6, 5060), (17, 5060), (6, 8080), (6, 8443), (6, 9100), (17, 67), (17, 514),
)  # fmt: skip
"""Protocol and port; what they are called doesn't matter here."""


@dataclass(frozen=True)
class BoxList:
    """Dimensions with their largest numbers, and rules over them."""

    dimensions: tuple[tuple[str, int], ...]
    rules: tuple[tuple[Box, str], ...]

    @property
    def lasts(self) -> tuple[int, ...]:
        """Largest number of each dimension."""
        return tuple(last for _, last in self.dimensions)

    @property
    def boxes(self) -> list[Box]:
        """What the rules match."""
        return [box for box, _ in self.rules]

    @property
    def numbered(self) -> list[tuple[Box, int]]:
        """The rules with their places in the list for their verdicts."""
        return [(box, place) for place, (box, _) in enumerate(self.rules)]


def gaps(last: int, taken: Iterable[tuple[int, int]]) -> Form:
    """What is left of 0 to last."""
    found, start = [], 0
    for first, until in sorted(taken):
        if first > start:
            found.append((start, first - 1))
        start = until + 1
    return (*found, (start, last)) if start <= last else tuple(found)


@dataclass
class Drawing:
    """Draws parts of rules over some dimensions."""

    random: Random
    dimensions: tuple[tuple[str, int], ...]

    def box(self, **forms: Form) -> Box:
        """Whole where nothing is said."""
        return tuple(forms.get(name, ((0, last),)) for name, last in self.dimensions)

    def one_of(self, many: Sequence[int]) -> Form:
        """One number."""
        number = self.random.choice(many)
        return ((number, number),)

    def some_of(self, first: int, last: int, most: int) -> Form:
        """One number or more, each by itself."""
        found = {self.random.randint(first, last) for _ in range(self.random.randint(1, most))}
        return tuple((number, number) for number in sorted(found))

    def carried(self, most: int) -> Form:
        """Protocol and port in one number."""
        found = {
            protocol << 16 | port for protocol, port in self.random.sample(SERVICES, self.random.randint(1, most))
        }
        return tuple((number, number) for number in sorted(found))


# ------------------------------------------------------------------------------------------------------------- an office


def office(count: int, zones: int = 14, bits: int = 32, seed: int = 1) -> BoxList:
    """As a firewall of so many zones has them: spoofed sources, replies, then who may speak to whom, then the outside."""
    whole = 2**bits - 1
    start, width = (10 << 24, 8) if bits == 32 else (0x20010DB8 << 96, 64)
    nets = [(start + (zone << width), start + (zone + 1 << width) - 1) for zone in range(zones)]
    inside = (nets[0][0], nets[-1][1])
    draw = Drawing(
        Random(seed),
        (
            ("state", 3), ("place", zones + 1), ("target", whole), ("source", whole), ("carried", 2**24 - 1), ("second", WEEK - 1),
            ("line", 1), ("source_port", 2**16 - 1),
        ),
    )  # fmt: skip
    rules = [(draw.box(place=((zone, zone),), source=gaps(whole, [nets[zone]])), "drop") for zone in range(zones)]
    rules += [
        (draw.box(place=((zones, zones),), source=(inside,)), "drop"),
        (draw.box(state=((1, 2),)), "accept"),
        (draw.box(state=((3, 3),)), "drop"),
    ]
    while len(rules) < count - 2:
        rules.append(_spoken(draw, nets, gaps(whole, [inside])))
    never = ((0, 2 ** (bits - 8) - 1), inside, (224 << bits - 8, whole))
    rules += [
        (draw.box(state=((0, 0),), target=never), "drop"),
        (draw.box(state=((0, 0),), place=((0, 0),), target=gaps(whole, [inside])), "accept"),
    ]
    return BoxList(draw.dimensions, tuple(rules[:count]))


def _spoken(draw: Drawing, nets: Sequence[tuple[int, int]], outside: Form) -> tuple[Box, str]:
    """Who may begin to speak to whom for what."""
    random = draw.random
    zone, other = random.sample(range(len(nets) + 1), 2)
    forms: dict[str, Form] = {"state": ((0, 0),), "place": ((zone, zone),)}
    for name, end in (("source", zone), ("target", other)):
        if end == len(nets):
            forms[name] = outside
        else:
            first, last = nets[end]
            forms[name] = ((first, last),) if random.random() < 0.4 else draw.some_of(first + 1, first + 250, 6)
    if random.random() < 0.9:
        forms["carried"] = draw.carried(4)
    if random.random() < 0.05:
        forms["second"] = tuple((day * DAY + 8 * HOUR, day * DAY + 18 * HOUR - 1) for day in range(5))
    return draw.box(**forms), "accept" if random.random() < 0.9 else "drop"


# ------------------------------------------------------------------------------------------------------------ many sites


def sites(count: int, bits: int = 32, seed: int = 1) -> BoxList:
    """As a list grown over the years has them: a source, a target, a service, without any order."""
    whole = 2**bits - 1
    draw = Drawing(
        Random(seed),
        (("source", whole), ("target", whole), ("protocol", 255), ("port", 2**16 - 1), ("source_port", 2**16 - 1)),
    )
    places = [10 << 24 | site << 16 for site in draw.random.sample(range(256), 40)]
    parts = [place | part << 8 for place in places for part in draw.random.sample(range(256), 25)]

    def network() -> Form:
        kind, random = draw.random.random(), draw.random
        if kind < 0.02:
            return ((0, whole),)
        if kind < 0.08:
            return _prefix(random.choice(places), 16, bits)
        if kind < 0.4:
            return _prefix(random.choice(parts), 24, bits)
        if kind < 0.85:
            return _prefix(random.choice(parts) + random.randrange(1, 255), 32, bits)
        return _prefix(random.randrange(1 << 24, 223 << 24), random.choice((16, 20, 24, 32)), bits)

    rules = [
        (draw.box(source=network(), target=network(), **_service(draw)), _verdict(draw)) for _ in range(count - 1)
    ]
    return BoxList(draw.dimensions, (*rules, (draw.box(), "drop")))


def _prefix(address: int, length: int, bits: int) -> Form:
    """All that begins as an address of 32 bits does."""
    first = address >> 32 - length << bits - length
    return ((first, first + (1 << bits - length) - 1),)


def _service(draw: Drawing) -> dict[str, Form]:
    random = draw.random
    if random.random() < 0.03:
        return {}
    protocol, port = random.choice(SERVICES)
    forms: dict[str, Form] = {"protocol": ((protocol, protocol),)}
    kind = random.random()
    if kind < 0.92:
        forms["port"] = ((port, port),) if kind < 0.8 else ((1024, 65535),)
    if random.random() < 0.1:
        forms["source_port"] = ((1024, 65535),)
    return forms


def _verdict(draw: Drawing) -> str:
    return draw.random.choice(("accept", "drop"))


# ----------------------------------------------------------------------------------------------------------------- small


def small(random: Random, most_rules: int = 10, wide: int = 0) -> BoxList:
    """A few rules of any shape in one to four dimensions: few numbers, or numbers of so many bits with cuts at few places."""
    dimensions = tuple((f"d{place}", _last(random, wide)) for place in range(random.randint(1, 4)))
    rules = tuple((_any_box(random, dimensions), random.choice("abc")) for _ in range(random.randint(0, most_rules)))
    return BoxList(dimensions, rules)


def another(random: Random, like: BoxList, most_rules: int = 10) -> BoxList:
    """Other rules in the same dimensions."""
    count = random.randint(0, most_rules)
    return BoxList(
        like.dimensions, tuple((_any_box(random, like.dimensions), random.choice("abc")) for _ in range(count))
    )


def _last(random: Random, wide: int) -> int:
    return random.choice((2**wide - 1, 2**wide - 1, random.randrange(2**wide))) if wide else random.randint(0, 5)


def _any_box(random: Random, dimensions: Sequence[tuple[str, int]]) -> Box:
    return tuple(((0, last),) if random.random() < 0.3 else form(random, last) for _, last in dimensions)


def form(random: Random, last: int) -> Form:
    """Intervals in one dimension, which may touch; cuts fall often on the same numbers."""
    marks = sorted(
        {random.randint(0, 8) * (last + 1) // 8 for _ in range(random.randint(2, 5))} | {random.randint(0, last)}
    )
    spans = [(first, until - 1) for first, until in zip(marks, [*marks[1:], last + 1], strict=True) if first < until]
    return tuple(sorted(random.sample(spans, random.randint(1, len(spans)))))


def changed(random: Random, listed: BoxList) -> BoxList:
    """One rule taken out, turned round, put elsewhere, or given a form of another rule."""
    rules = list(listed.rules)
    place = random.randrange(len(rules))
    box, verdict = rules[place]
    kind = random.randrange(4)
    if kind == 0:
        del rules[place]
    elif kind == 1:
        rules[place] = box, random.choice([one for one in ("accept", "drop") if one != verdict])
    elif kind == 2:
        rules.insert(random.randrange(len(rules)), rules.pop(place))
    else:
        at, other = random.randrange(len(box)), random.choice(rules)[0]
        rules[place] = (*box[:at], other[at], *box[at + 1 :]), verdict
    return BoxList(listed.dimensions, tuple(rules))
