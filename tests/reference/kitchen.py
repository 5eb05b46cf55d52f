"""A workbook's rows as plain objects: names folded, quantities in base units."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

from tests.reference import sizes
from tests.reference.cells import (
    WEEKDAYS,
    Rows,
    cutoff_days_by_weekday,
    dates,
    day_or_none,
    fold,
    optional,
    price_breaks,
    rounded,
    split,
    tidy,
    truth,
    weekdays,
    whole_or_none,
)
from tests.reference.quantities import (
    UNITS,
    Measure,
    kind_of,
    read_equivalents,
    singulars,
)

Sheets = dict[str, Rows]


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
    cutoff_days_by_weekday: dict[int, int] = field(default_factory=dict)
    is_shop: bool = False
    retired: bool = False

    def days_before(self, deliver_on: date) -> int:
        """How many days before this delivery it must be ordered."""
        return self.cutoff_days_by_weekday.get(deliver_on.weekday(), self.cutoff_days)


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
    retired: bool = False
    next_price: Fraction | None = None
    next_price_from: date | None = None

    def price_on(self, deliver_on: date, packs: int = 1) -> Fraction:
        """The price of each pack of a delivery's line of so many."""
        if self.next_price is not None and deliver_on >= self.next_price_from:
            return self.next_price
        reached = [price for least, price in self.breaks if packs >= least]
        return reached[-1] if reached else self.price


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
    caps_use_by: bool = False
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
class Decided:
    """A line of an approved order, or of a draft that a person changed."""

    pack: Pack
    packs: int
    deliver_on: date


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
        self.every_pack: list[Pack] = []
        for row in self.of("Items"):
            self._read_item(row)
        bought = [pack for pack in self.every_pack if self._is_bought(pack)]
        # A shop's packs take no part in orders, remedies, par days and best prices.
        self.packs = [p for p in bought if not self._supplier_of(p).is_shop]
        self.shop_packs = [p for p in bought if self._supplier_of(p).is_shop]
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
        self.decided = [self._decided(r) for r in self.of("Decided orders")]

    def of(self, sheet: str) -> Rows:
        return self.sheets.get(fold(sheet), [])

    def measure_of(self, name: str) -> Measure:
        for known in (self.items, self.parts, self.recipes):
            if fold(name) in known:
                return known[fold(name)].measure
        raise KeyError(name)

    def _supplier_of(self, pack: Pack) -> Supplier:
        return self.suppliers[fold(pack.supplier)]

    def _is_bought(self, pack: Pack) -> bool:
        return not (pack.retired or self._supplier_of(pack).retired)

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
        self.every_pack += packs
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
            truth(row.get("retired")),
            Fraction(row["next_price"]) if row.get("next_price") else None,
            day_or_none(row.get("next_price_from", "")),
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
            truth(row.get("caps_use_by")),
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

    def _pack_of(self, row: dict[str, str]) -> Pack:
        (pack,) = (
            p
            for p in self.every_pack
            if fold(p.supplier) == fold(row["supplier"])
            and p.item == fold(row["item"])
            and fold(p.pack) == fold(row["pack"])
        )
        return pack

    def _decided(self, row: dict[str, str]) -> Decided:
        day = date.fromisoformat(row["deliver_on"])
        return Decided(self._pack_of(row), int(row["packs"]), day)

    def _open_order(self, row: dict[str, str]) -> OpenOrder:
        pack = self._pack_of(row)
        return OpenOrder(
            row["order"],
            fold(row["supplier"]),
            pack.item,
            (Fraction(row["packs"]) - Fraction(row.get("received_packs") or 0))
            * pack.holds,
            date.fromisoformat(row["due"]),
        )


def called_words(name: str, rows: Rows, packs: list[Pack]) -> dict[str, Fraction]:
    """What each word holds: of packs that are bought, else of retired ones."""
    by_word: dict[str, list[Pack]] = {}
    for row, pack in zip(rows, packs, strict=True):
        called = fold(row.get("called", ""))
        if called:
            by_word.setdefault(called, []).append(pack)
    words = {}
    for called, named in by_word.items():
        if any(s in UNITS for s in singulars(called)):
            raise ValueError(f"{name}: {called!r} is a unit already")
        bought = [pack for pack in named if not pack.retired] or named
        meant = [pack for pack in bought if pack.preferred] or bought
        if len({pack.holds for pack in meant}) > 1:
            raise ValueError(f"{name}: two different packs are called {called!r}")
        words[called] = meant[0].holds
    return words


def supplier(row: dict[str, str]) -> Supplier:
    free_from = row.get("free_delivery_from", "")
    is_shop = fold(row.get("kind", "")) == "shop"
    days_by_weekday = cutoff_days_by_weekday(row.get("cutoff_days") or "0")
    cutoff_time = row.get("cutoff_time") or "23:59"
    usable = fold(row.get("usable", "")) or ("same day" if is_shop else "next day")
    return Supplier(
        row["supplier"],
        weekdays(row["delivery_days"]),
        max(days_by_weekday.values()),
        time.fromisoformat(cutoff_time.zfill(5)),
        usable == "same day",
        Fraction(row.get("minimum_order") or 0),
        Fraction(row.get("delivery_fee") or 0),
        Fraction(free_from) if free_from else None,
        dates(row.get("closed_on", "")),
        days_by_weekday,
        is_shop,
        truth(row.get("retired")),
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


def local_moment(zone: ZoneInfo, day: date, at: time) -> datetime:
    return datetime.combine(day, at, tzinfo=zone)


def use_by(day: date, keeps_days: int | None) -> date | None:
    """The last calendar day that something made or received on `day` is usable."""
    return None if keeps_days is None else day + timedelta(days=keeps_days - 1)
