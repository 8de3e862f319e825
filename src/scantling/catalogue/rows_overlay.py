"""A firm's rows laid over those that stand, column by column, each column with the place that spoke."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from scantling.catalogue import Article
from scantling.catalogue.columns import CONFIRMED_ON, HEAD, MARKS, PRICED_ON, VALID_UNTIL
from scantling.catalogue.sense import nonsense, out_of_date_order
from scantling.catalogue.shelf import CURRENCY as OURS
from scantling.catalogue.shelf import head_marks, near
from scantling.figures import Attribute
from scantling.figures.placed import Mistake, Node, Text
from scantling.figures.quantities import parse
from scantling.figures.spelled import nearest, shown
from scantling.figures.units import CURRENCY, convert

BY_NAME: dict[str, Attribute[Any]] = {mark.name: mark for mark in MARKS}
OF_A_PRICE = frozenset({PRICED_ON.name, VALID_UNTIL.name, CONFIRMED_ON.name})
"""Marks that tell of one price: another price makes them void."""
LONGEST = 100


@dataclass
class Said:
    """What a firm's files say of one row: where it begins, its cells, and the marks that a head gives to its price."""

    file: str
    at: tuple[int, int]
    cells: dict[str, Text] = field(default_factory=dict)
    head: dict[str, Any] = field(default_factory=dict)
    head_place: str = ""

    def at_cell(self, name: str) -> tuple[str, tuple[int, int]]:
        """File and place of a cell, or of the row where it has none."""
        cell = self.cells.get(name)
        return (self.file, self.at) if cell is None else (cell.file, (cell.line, cell.column))


Layer = dict[tuple[str, str], Said]


@dataclass
class Pile:
    """Rows by kind and slug as they stand so far, and every mistake in what is laid on them."""

    columns: Mapping[str, tuple[Attribute[Any], ...]]
    rows: dict[str, dict[str, Article]]
    mistakes: list[Mistake]

    def lay(self, trees: Sequence[Node]) -> None:
        """One layer: files that may not say the same column of the same row twice."""
        layer: Layer = {}
        for tree in trees:
            self._gather(tree, layer)
        laid = [made for (kind, slug), said in layer.items() if (made := self._article(kind, slug, said)) is not None]
        for row in laid:
            self.rows.setdefault(row.kind, {})[row.slug] = row
        for row in laid:
            self._judge(row, layer[row.kind, row.slug])

    def _gather(self, tree: Node, layer: Layer) -> None:
        head = head_marks(tree, self.mistakes)
        for kind in [kind for kind in tree if kind != HEAD]:
            table = tree[kind]
            if kind not in self.columns:
                self._note(tree.file, tree.keys_at[kind], kind, near(kind, self.columns, "no such kind of row"))
            elif not isinstance(table, Node):
                self._note(tree.file, tree.keys_at[kind], kind, "rows are wanted here, each with its name")
            else:
                place = f"{tree.file}:{tree.keys_at[HEAD][0]}" if head else ""
                self._take_all(kind, table, layer, (head, place))

    def _take_all(self, kind: str, table: Node, layer: Layer, head: tuple[dict[str, Any], str]) -> None:
        """Every row of a kind in one file; what the file's head says is said of each price in it."""
        for slug in table:
            said = layer.setdefault((kind, slug), Said(table.file, table.keys_at[slug]))
            self._take(kind, slug, table, said)
            if head[0] and self._priced(kind, table[slug]):
                said.head, said.head_place = head

    def _take(self, kind: str, slug: str, table: Node, said: Said) -> None:
        """The cells of one row in one file."""
        written, path = table[slug], f"{kind}.{slug}"
        if not isinstance(written, Node):
            self._note(table.file, table.keys_at[slug], path, "a row is a mapping of columns to values")
            return
        known = (*(column.name for column in self.columns[kind]), *BY_NAME)
        for name, value in written.items():
            at, cell = written.keys_at[name], f"{path}.{name}"
            if name not in known:
                self._note(table.file, at, cell, near(name, known, "no such column"))
            elif not isinstance(value, Text):
                self._note(table.file, at, cell, "one value is wanted here")
            elif name in said.cells:
                self._note(table.file, at, cell, f"this stands in {said.cells[name].place} too")
            else:
                said.cells[name] = value

    def _priced(self, kind: str, names: Any) -> bool:
        """Whether cells say what something costs."""
        money = [column.name for column in self.columns[kind] if CURRENCY in column.unit.symbol]
        return isinstance(names, Mapping) and any(name in names for name in money)

    def _article(self, kind: str, slug: str, said: Said) -> Article | None:
        """The row laid over the one that stands, None where it can't be read."""
        columns = {column.name: column for column in self.columns[kind]}
        under = self.rows.get(kind, {}).get(slug)
        lacking = [name for name in columns if under is None and name not in said.cells]
        if lacking:
            self._note(said.file, said.at, f"{kind}.{slug}", self._incomplete(kind, slug, lacking))
        before = len(self.mistakes)
        typed = {name: self._typed(kind, slug, cell, columns | BY_NAME) for name, cell in said.cells.items()}
        if lacking or len(self.mistakes) > before:
            return None
        if under is None:
            under = Article(kind, slug, {}, f"{said.file}:{said.at[0]}")
        values = {name: typed.get(name, under.values.get(name)) for name in columns}
        void = OF_A_PRICE if self._priced(kind, said.cells) else frozenset[str]()
        kept = {name: mark for name, mark in under.marks.items() if name not in void}
        marks = kept | said.head | {name: typed[name] for name in BY_NAME if name in typed}
        places = dict.fromkeys(said.head, said.head_place) | {name: cell.place for name, cell in said.cells.items()}
        return replace(under, values=values, marks=marks, places={**under.places, **places})

    def _incomplete(self, kind: str, slug: str, lacking: Sequence[str]) -> str:
        """A row that lies over nothing must be whole; often its name is only misspelled."""
        there = nearest(slug, self.rows.get(kind, {}))
        hint = f"; did you mean {there}?" if there else ";"
        return f"there is no row of that name to lie over{hint} a new row needs {', '.join(lacking)} too"

    def _typed(self, kind: str, slug: str, cell: Text, columns: Mapping[str, Attribute[Any]]) -> Any:
        """One cell in its column's unit."""
        name = cell.path.rsplit(".", 1)[-1]
        try:
            value, unit = parse(str(cell), columns[name].unit, OURS)
            return convert(value, unit, columns[name].unit)
        except (ValueError, TypeError) as wrong:
            self._note(cell.file, (cell.line, cell.column), f"{kind}.{slug}.{name}", str(wrong))
        return None

    def _judge(self, row: Article, said: Said) -> None:
        """Whether the whole row makes sense, by itself and beside the others."""
        for name, says in self._senseless(row):
            self._note(*said.at_cell(name), f"{row.kind}.{row.slug}.{name}", says)

    def _senseless(self, row: Article) -> Iterator[tuple[str, str]]:
        """Column and sentence of everything that can't be true."""
        yield from nonsense(row.kind, row.values)
        if says := out_of_date_order(row.marks):
            yield VALID_UNTIL.name, says
        zones = self.rows.get("zone_kind", {})
        if row.kind == "profile" and zones and row.values["zone"] not in zones:
            yield "zone", near(row.values["zone"], sorted(zones), "no such zone")
        name = row.values.get("name")
        others = [o.slug for o in self.rows[row.kind].values() if o.slug != row.slug and o.values.get("name") == name]
        if others:
            yield "name", f"{others[0]} has this name too"

    def _note(self, file: str, at: tuple[int, int], path: str, says: str) -> None:
        self.mistakes.append(Mistake(file, *at, shown(path, LONGEST), says))
