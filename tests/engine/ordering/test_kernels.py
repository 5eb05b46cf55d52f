"""Machine code is made once, before the time of a search begins."""

import subprocess
import sys
from pathlib import Path

import pytest

from planning.engine.ordering import kernels
from planning.engine.ordering.kernels import compiled, place
from planning.engine.ordering.pricing.first_calls import call_pricing

SEARCH = """
import sys
from dataclasses import replace

from numba.core.registry import CPUDispatcher
from planning.engine.demand.explosion import explode
from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.search import call_kernels
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
call_kernels()
before = made()
stages = set()
best_orders(
    kitchen,
    window,
    explode(kitchen, window).demand,
    possible_deliveries(kitchen, window),
    effort=replace(QUICK, seconds=600.0),  # however busy the machine
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
    assert {"walk", "buy_up", "anneal"} <= set(made.split())
    assert "diving, first orders, pricing, proving, reasons" in stages
    assert made_later == ""


WEB = """
import os, sys
import django

os.environ["DJANGO_SETTINGS_MODULE"] = "stock.site.settings"
django.setup()
import stock.site.urls

print(*(name for name in ("numba", "llvmlite") if name in sys.modules))
"""


def test_a_process_that_only_serves_pages_loads_no_compiler():
    ran = subprocess.run(
        [sys.executable, "-c", WEB], capture_output=True, text=True, check=True
    )

    assert ran.stdout == "\n"


def test_a_kernel_that_is_not_there_is_an_attribute_error():
    with pytest.raises(AttributeError, match="has no attribute 'fly'"):
        _ = kernels.fly


def test_code_is_made_anew_when_any_kernel_changes(tmp_path):
    sources = [tmp_path / "walking.py", tmp_path / "columns.py"]
    for source in sources:
        source.write_text("DAYS = 14")
    before = place.mark_of(sources)

    assert place.mark_of(reversed(sources)) == before
    sources[1].write_text("DAYS = 15")
    assert place.mark_of(sources) != before


def test_the_code_of_another_version_stays(tmp_path):
    old = place.made(tmp_path / "old")
    new = place.made(tmp_path / "new")

    assert old.is_dir()
    assert new.is_dir()
    assert place.made(tmp_path / "new") == new


def test_the_environment_names_the_folder(tmp_path, monkeypatch):
    monkeypatch.setenv(place.FOLDER_VARIABLE, str(tmp_path))

    assert place.kept_in() == tmp_path
    assert not place.is_complete()
    place.note_complete()
    assert place.is_complete()


def test_kernels_use_nothing_from_outside_but_types():
    sources = Path(compiled.__file__).parent.glob("*.py")
    imported = {
        line.split()[1]
        for source in sources
        for line in source.read_text().splitlines()
        if line.startswith("from planning.")
    }

    outside = {name for name in imported if ".ordering.kernels" not in name}
    assert outside == {"planning.engine.kitchen"}


def test_without_a_place_to_keep_it_code_is_made_all_the_same(tmp_path, monkeypatch):
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where the folder should be")

    assert place.made(blocked / "mark") is None
    monkeypatch.setattr(compiled, "IS_KEPT", False)
    assert compiled.compiled(lambda number: 2 * number)(4) == 8


def test_the_code_of_the_search_is_kept():
    if not compiled.IS_KEPT:
        pytest.skip(f"nothing can be written to {place.kept_in()}")
    call_pricing()
    assert list(compiled.PLACE.rglob("labeling.walk*.nbi"))


def test_without_a_home_folder_another_is_found(monkeypatch):
    def homeless(*_words, **_more):
        raise RuntimeError("could not determine the home directory")

    monkeypatch.delenv(place.FOLDER_VARIABLE, raising=False)
    monkeypatch.setattr("pathlib.Path.expanduser", homeless)
    monkeypatch.setattr("os.path.expanduser", homeless)

    assert place.kept_in().name == "machine_code"


def test_a_folder_that_may_not_be_looked_into_keeps_nothing(tmp_path, monkeypatch):
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where the folder should be")
    monkeypatch.setenv(place.FOLDER_VARIABLE, str(blocked))

    assert not place.is_complete()
    place.note_complete()
