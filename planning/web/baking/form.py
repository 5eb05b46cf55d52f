"""A recipe was made: how many batches, and what went in where it differs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal, InvalidOperation
from uuid import uuid4

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from planning.baking.bench import TakenForLine
from planning.baking.checks import MOST_BATCHES
from planning.baking.entries import Baker, MakeEntry
from planning.baking.errors import AskedError, BatchesError, LineAmountError
from planning.baking.making import make_recipe
from planning.baking.planned import newest_bake_id, planned_batches
from planning.errors import PlanningError
from planning.models import Bake, Recipe, RecipeLine
from planning.web.baking.page import day_asked
from planning.wording.batch_words import number_words
from stock.conversion.converters import converters_for
from stock.errors import StockError
from stock.measures.conversion import Converter
from stock.measures.reading.vocabulary import Notation
from stock.measures.resolution import to_ledger
from stock.models import Bakery, Substitute
from stock.web.amounts import content_words
from stock.web.request.bakery_time import current_bakery
from stock.web.request.row_ids import sent_id

LONGEST_KEY = 80
AS_TYPED = Notation.ITEM
WHOLE_PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class FormLine:
    """A line of the recipe: what one batch takes, and what may be used instead."""

    line: RecipeLine
    one_batch: str
    typed: str  # what went in, as typed
    instead: list[Substitute]
    chosen: int | None  # id of the item that was used instead

    @property
    def item_id(self) -> int:
        """The component."""
        return self.line.component_id


@dataclass(slots=True)
class MakeForm:
    """What the page shows of a recipe, and what was sent."""

    recipe: Recipe
    on: date
    batches: str
    planned: float
    lines: list[FormLine]
    converters: Mapping[int, Converter]
    seen: int
    problem: str = ""
    is_question: bool = False
    key: str = field(default_factory=lambda: str(uuid4()))

    @property
    def has_changes(self) -> bool:
        """Whether anything was said of what went in."""
        return any(each.typed or each.chosen is not None for each in self.lines)

    @property
    def planned_words(self) -> str:
        """What the plan asks for, to be shown."""
        return number_words(self.planned) if self.planned else ""


def make(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show the form of a recipe; record what was sent."""
    row = get_object_or_404(Recipe.objects.select_related("item"), pk=item_id)
    bakery = current_bakery(request)
    sent = request.POST if request.method == "POST" else request.GET
    try:
        form = _read_form(row, bakery, sent)
    except (PlanningError, StockError) as error:
        context = {"problem": str(error), "recipe": row}
        return render(request, "planning/make.html", context)
    if request.method == "POST":
        bake = _send(request, form, bakery)
        if bake is not None:
            query = f"?done={bake.pk}&day={form.on.isoformat()}"
            return redirect(f"{reverse('planning:making')}{query}")
    return render(request, "planning/make.html", {"form": form, "recipe": row})


def _read_form(row: Recipe, bakery: Bakery, sent: QueryDict) -> MakeForm:
    on = day_asked(sent.get("day"), timezone.localdate())
    planned = planned_batches(row.pk, bakery=bakery, as_of=timezone.now(), on=on)
    lines = list(row.lines.select_related("component"))
    known = Substitute.objects.filter(item__in=[line.component_id for line in lines])
    instead = list(known.select_related("substitute"))
    converters = converters_for()
    seen = sent_id(sent.get("seen"))
    return MakeForm(
        recipe=row,
        on=on,
        batches=sent.get("batches", "").strip() or _plain(planned),
        planned=planned,
        lines=[
            FormLine(
                line=line,
                one_batch=content_words(
                    line.quantity_base, converters[line.component_id]
                ),
                typed=sent.get(f"went_in_{line.component_id}", "").strip(),
                instead=[each for each in instead if each.item_id == line.component_id],
                chosen=sent_id(sent.get(f"instead_{line.component_id}")),
            )
            for line in lines
        ],
        converters=converters,
        seen=newest_bake_id() if seen is None else seen,
    )


def _plain(batches: float) -> str:
    return f"{batches:.9f}".rstrip("0").rstrip(".") if batches else ""


def _send(request: HttpRequest, form: MakeForm, bakery: Bakery) -> Bake | None:
    """Record what was sent; None after saying on the form why not."""
    key = request.POST.get("key", "").strip()[:LONGEST_KEY]
    try:
        batches = _batches(form)
        entry = MakeEntry(
            form.recipe.pk,
            batches,
            key or form.key,
            changes=_changes(form, batches),
            planned_batches=form.planned,
            seen_bake_id=form.seen,
            confirmed=request.POST.get("confirmed") == form.batches,
        )
        return make_recipe(entry, Baker(bakery, request.user.pk))
    except AskedError as error:
        form.problem, form.is_question = str(error), True
        form.key = key or form.key
    except (PlanningError, StockError) as error:
        form.problem = str(error)
    return None


def _batches(form: MakeForm) -> Decimal:
    try:
        return Decimal(form.batches)
    except InvalidOperation as error:
        raise BatchesError(form.recipe.item.name, MOST_BATCHES) from error


def _changes(form: MakeForm, batches: Decimal) -> dict[int, TakenForLine]:
    found = {}
    for each in form.lines:
        if each.typed or each.chosen is not None:
            found[each.item_id] = _change(form, each, batches)
    return found


def _change(form: MakeForm, each: FormLine, batches: Decimal) -> TakenForLine:
    """Return what was taken from the shelf for a line: its weight is edible."""
    used = next((one for one in each.instead if one.substitute_id == each.chosen), None)
    if each.chosen is not None and used is None:
        raise LineAmountError(each.line.component.name, _("choose what was used."))
    item_id = used.substitute_id if used else each.item_id
    if each.typed:
        edible_base = float(form.converters[item_id].typed_base(each.typed, AS_TYPED))
    elif used and used.quantity_base and used.for_quantity_base:
        ratio = used.quantity_base / used.for_quantity_base
        edible_base = each.line.quantity_base * float(batches) * ratio
    else:
        raise LineAmountError(each.line.component.name, _("enter how much went in."))
    yields = 1.0 if used else float(each.line.yield_percent) / WHOLE_PERCENT
    return TakenForLine(item_id, to_ledger(edible_base / yields))
