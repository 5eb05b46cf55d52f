"""Machine code is made once, before the time of a search begins."""

import subprocess
import sys

import pytest

from planning.engine.ordering.pricing import compiled

SEARCH = """
import sys

from numba.core.registry import CPUDispatcher
from planning.engine.demand.explosion import explode
from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.proving.efforts import QUICK
from planning.engine.ordering.search import call_annealing, call_pricing
from tests.benchmarks.bakeries import bakery


def made():
    return {
        (kernel.py_func.__qualname__, signature)
        for name, module in sys.modules.items()
        if name.startswith("planning.engine.")
        for kernel in vars(module).values()
        if isinstance(kernel, CPUDispatcher)
        for signature in kernel.signatures
    }


kitchen, window = bakery("small", 2)
call_pricing()
call_annealing()
before = made()
stages = set()
best_orders(
    kitchen,
    window,
    explode(kitchen, window).demand,
    possible_deliveries(kitchen, window),
    effort=QUICK,
    on_progress=lambda progress: stages.add(progress.stage),
)
print(*sorted({name for name, _ in before}))
print(*sorted(stages), sep=", ")
print(*sorted(made() - before))
"""


def test_no_search_waits_for_machine_code():
    ran = subprocess.run(
        [sys.executable, "-c", SEARCH], capture_output=True, text=True, check=True
    )

    made, stages, made_later = ran.stdout.splitlines()
    assert {"walk", "buy_up", "_anneal"} <= set(made.split())
    assert "diving, first orders, pricing, proving, reasons" in stages
    assert made_later == ""


def test_code_is_made_anew_when_anything_in_the_room_changes(tmp_path):
    sources = [tmp_path / "walking.py", tmp_path / "tasks.py"]
    for source in sources:
        source.write_text("DAYS = 14")
    before = compiled.mark_of(sources)

    assert compiled.mark_of(reversed(sources)) == before
    sources[1].write_text("DAYS = 15")
    assert compiled.mark_of(sources) != before


def test_what_was_kept_of_older_code_is_dropped(tmp_path):
    old = compiled.make_place(tmp_path, "old")
    new = compiled.make_place(tmp_path, "new")

    assert new.is_dir()
    assert not old.exists()
    assert compiled.make_place(tmp_path, "new") == new


def test_without_a_place_to_keep_it_code_is_made_all_the_same(tmp_path, monkeypatch):
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where the folder should be")

    assert compiled.make_place(blocked, "mark") is None
    monkeypatch.setattr(compiled, "IS_KEPT", False)
    assert compiled.compiled(lambda number: 2 * number)(4) == 8


def test_the_code_of_the_search_is_kept():
    if not compiled.IS_KEPT:
        pytest.skip("nothing can be written beside the code here")
    assert list(compiled.ROOM.rglob("machine_code/*/*/walking.walk*.nbi"))
