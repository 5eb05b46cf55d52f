"""A workbook's rows as plain objects: names folded, quantities in base units."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

from tests.reference import sizes
from tests.reference.quantities import (
    UNITS,
    Measure,
    kind_of,
    read_equivalents,
    singulars,
)

Rows = list[dict[str, str]]
Sheets = dict[str, Rows]

WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


@dataclass
class Item:
    name: str
    measure: Measure
    safety: Fraction | None
    par: Fraction | None
    keeps_days: int | None
    retired: bool


@dataclass
class Part:
    name: str
    whole: str
    measure: Measure
    yields: Fraction  # from 1 each of the whole
    keeps_days: int


@dataclass
class Supplier:
    name: str
    delivery_days: set[int]
    cutoff_days: int
    cutoff_time: time
    same_day: bool
    minimum_order: Fraction
    delivery_fee: Fraction
    free_from: Fraction | None
    closed_on: set[date]


@dataclass
class Pack:
    supplier: str
    item: str
    pack: str
    code: str
    holds: Fraction
    price: Fraction
    minimum_packs: int
    multiple: int
    breaks: list[tuple[int, Fraction]]
    preferred: bool


@dataclass
class Line:
    component: str
    quantity: Fraction
    yield_fraction: Fraction
    scales_with: str


@dataclass
class Recipe:
    name: str
    measure: Measure
    yields: Fraction
    batch_step: Fraction
    loss: Fraction
    lead_days: int
    keeps_days: int | None
    is_cake: bool
    base_size: str
    lines: list[Line] = field(default_factory=list)


@dataclass
class Bake:
    reference: str
    due: date
    cake: str
    size: str
    quantity: Fraction
    status: str


@dataclass
class Lot:
    amount: Fraction
    use_by: date | None
    left_over_on: date | None = None  # the day its whole was taken apart, if any


@dataclass
class OpenOrder:
    order: str
    supplier: str
    item: str
    amount: Fraction
    due: date


class Kitchen:
    """Everything of one workbook, found by folded name."""

    def __init__(
        self,
        sheets: Sheets,
        *,
        ledger_places: int | None = None,
        size_places: int | None = None,
    ) -> None:
        self.sheets = {fold(name): tidy(rows) for name, rows in sheets.items()}
        self.ledger_places = ledger_places
        self.size_places = size_places
        self._read_settings()
        self.suppliers = {
            fold(r["supplier"]): supplier(r) for r in self.of("Suppliers")
        }
        self.items: dict[str, Item] = {}
        self.parts: dict[str, Part] = {}
        self.recipes: dict[str, Recipe] = {}
        self.packs: list[Pack] = []
        for row in self.of("Items"):
            self._read_item(row)
        for row in self.of("Splits"):
            self._read_part(row)
        for row in self.of("Recipes"):
            self._read_recipe(row)
        for row in self.of("Recipe lines"):
            self._read_line(row)
        self.bakes = [bake(r) for r in self.of("Bake plan")]
        self.stock: dict[str, list[Lot]] = {}
        for row in self.of("Stock"):
            self._read_lot(row)
        self.open_orders = [self._open_order(r) for r in self.of("Open orders")]

    def of(self, sheet: str) -> Rows:
        return self.sheets.get(fold(sheet), [])

    def measure_of(self, name: str) -> Measure:
        for known in (self.items, self.parts, self.recipes):
            if fold(name) in known:
                return known[fold(name)].measure
        raise KeyError(name)

    def is_closed(self, day: date) -> bool:
        return day.weekday() in self.closed_days or day in self.closed_on

    def _read_settings(self) -> None:
        found = {fold(r["setting"]): r.get("value", "") for r in self.of("Settings")}
        self.zone = ZoneInfo(found.get("time_zone") or "UTC")
        self.currency = found.get("currency") or "USD"
        week_starts = WEEKDAYS.index((found.get("week_starts") or "Mon").lower())
        self.par_days = weekdays(found.get("par_days", "")) or {(week_starts - 1) % 7}
        self.closed_days = weekdays(found.get("closed_days", ""))
        self.closed_on = dates(found.get("closed_on", ""))
        self.horizon_days = int(found.get("horizon_days") or 14)
        height = found.get("layer_height") or sizes.DEFAULT_LAYER_HEIGHT
        self.layer_height_in = sizes.read_length_in(height)

    def _read_item(self, row: dict[str, str]) -> None:
        name, kind = row["item"], row["measure"].casefold()
        measure = Measure(
            name, kind, read_equivalents(name, kind, row.get("equivalents", ""))
        )
        for clause in split(row.get("own_units", "")):
            word, _, size = clause.partition("=")
            measure.words[fold(word)] = measure.amount(size)
        rows = [r for r in self.of("Packs") if fold(r["item"]) == fold(name)]
        packs = [self._pack(r, measure) for r in rows]
        measure.words.update(called_words(name, rows, packs))
        self.packs += packs
        self.items[fold(name)] = Item(
            name,
            measure,
            rounded(optional(measure, row.get("safety")), self.size_places),
            rounded(optional(measure, row.get("par")), self.size_places),
            whole_or_none(row.get("keeps_days")),
            truth(row.get("retired")),
        )

    def _pack(self, row: dict[str, str], measure: Measure) -> Pack:
        return Pack(
            self.suppliers[fold(row["supplier"])].name,
            fold(row["item"]),
            row["pack"],
            row.get("code", ""),
            rounded(measure.amount(row["holds"]), self.size_places),
            Fraction(row["price"]),
            int(row.get("minimum_packs") or 1),
            int(row.get("multiple") or 1),
            price_breaks(row.get("price_breaks", "")),
            truth(row.get("preferred")),
        )

    def _read_part(self, row: dict[str, str]) -> None:
        name, text = row["part"], row["yields"]
        measure = Measure(name, kind_of(text))
        yields = measure.amount(text)
        measure.words |= {"each": yields, "dozen": 12 * yields}
        self.parts[fold(name)] = Part(
            name, fold(row["whole"]), measure, yields, int(row.get("keeps_days") or 1)
        )

    def _read_recipe(self, row: dict[str, str]) -> None:
        name = row["recipe"]
        measure = Measure(name, kind_of(row["yields"]))
        self.recipes[fold(name)] = Recipe(
            name,
            measure,
            measure.amount(row["yields"]),
            Fraction(row.get("batch_step") or 0),
            Fraction(row.get("loss_percent") or 0) / 100,
            int(row.get("lead_days") or 0),
            whole_or_none(row.get("keeps_days")),
            truth(row.get("is_cake")),
            row.get("base_size", ""),
        )

    def _read_line(self, row: dict[str, str]) -> None:
        component = row["component"]
        self.recipes[fold(row["recipe"])].lines.append(
            Line(
                fold(component),
                self.measure_of(component).amount(row["quantity"]),
                Fraction(row.get("yield_percent") or 100) / 100,
                fold(row.get("scales_with", "")),
            )
        )

    def _read_lot(self, row: dict[str, str]) -> None:
        amount = self.measure_of(row["item"]).amount(row["quantity"])
        use_by = row.get("use_by", "")
        self.stock.setdefault(fold(row["item"]), []).append(
            Lot(rounded(amount, self.ledger_places), day_or_none(use_by))
        )

    def _open_order(self, row: dict[str, str]) -> OpenOrder:
        (pack,) = (
            p
            for p in self.packs
            if fold(p.supplier) == fold(row["supplier"])
            and p.item == fold(row["item"])
            and fold(p.pack) == fold(row["pack"])
        )
        return OpenOrder(
            row["order"],
            fold(row["supplier"]),
            pack.item,
            Fraction(row["packs"]) * pack.holds,
            date.fromisoformat(row["due"]),
        )


def called_words(name: str, rows: Rows, packs: list[Pack]) -> dict[str, Fraction]:
    words: dict[str, set[Fraction]] = {}
    preferred: dict[str, Fraction] = {}
    for row, pack in zip(rows, packs, strict=True):
        called = fold(row.get("called", ""))
        if called:
            words.setdefault(called, set()).add(pack.holds)
            if pack.preferred:
                preferred[called] = pack.holds
    for called, holds in words.items():
        if len(holds) > 1 and called not in preferred:
            raise ValueError(f"{name}: two different packs are called {called!r}")
        if any(s in UNITS for s in singulars(called)):
            raise ValueError(f"{name}: {called!r} is a unit already")
    return {c: preferred.get(c, next(iter(h))) for c, h in words.items()}


def supplier(row: dict[str, str]) -> Supplier:
    free_from = row.get("free_delivery_from", "")
    return Supplier(
        row["supplier"],
        weekdays(row["delivery_days"]),
        int(row["cutoff_days"]),
        time.fromisoformat(row["cutoff_time"].zfill(5)),
        fold(row.get("usable", "")) == "same day",
        Fraction(row.get("minimum_order") or 0),
        Fraction(row.get("delivery_fee") or 0),
        Fraction(free_from) if free_from else None,
        dates(row.get("closed_on", "")),
    )


def bake(row: dict[str, str]) -> Bake:
    return Bake(
        row["reference"],
        date.fromisoformat(row["due"]),
        fold(row["cake"]),
        row.get("size", ""),
        Fraction(row["quantity"]),
        fold(row.get("status", "")) or "confirmed",
    )


def tidy(rows: Rows) -> Rows:
    """Rows with folded column names and trimmed cells, blank rows left out."""
    trimmed = [{fold(k): (v or "").strip() for k, v in r.items()} for r in rows]
    return [row for row in trimmed if any(row.values())]


def fold(text: str) -> str:
    return text.strip().casefold()


def split(text: str) -> list[str]:
    return [piece.strip() for piece in text.split(";") if piece.strip()]


def weekdays(text: str) -> set[int]:
    return {WEEKDAYS.index(w[:3].lower()) for w in text.replace(";", " ").split()}


def dates(text: str) -> set[date]:
    return {date.fromisoformat(piece) for piece in split(text)}


def price_breaks(text: str) -> list[tuple[int, Fraction]]:
    pairs = [clause.split(":") for clause in split(text)]
    return sorted((int(packs), Fraction(price.strip())) for packs, price in pairs)


def truth(text: str | None) -> bool:
    return fold(text or "") in {"yes", "true", "1"}


def whole_or_none(text: str | None) -> int | None:
    return int(text) if text else None


def day_or_none(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def optional(measure: Measure, text: str | None) -> Fraction | None:
    return measure.amount(text) if text else None


def rounded(amount: Fraction | None, places: int | None) -> Fraction | None:
    """The amount to so many places, half up; exact where places is None."""
    if amount is None or places is None:
        return amount
    return Fraction((amount * 10**places + Fraction(1, 2)).__floor__(), 10**places)


def local_moment(zone: ZoneInfo, day: date, at: time) -> datetime:
    return datetime.combine(day, at, tzinfo=zone)


def use_by(day: date, keeps_days: int | None) -> date | None:
    """The last calendar day that something made or received on `day` is usable."""
    return None if keeps_days is None else day + timedelta(days=keeps_days - 1)
