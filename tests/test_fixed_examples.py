"""The normal run looks at the same examples every time; others are asked for.

What a run says at its end it says in however many processes its tests ran.
"""

import os
import subprocess
import sys
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

ROOT = Path(__file__).parent.parent
DRAWN = "DRAWN_EXAMPLES"  # set: where to write what was drawn


@settings(max_examples=5)
@given(number=st.integers(0, 10**9))
def test_numbers_are_drawn(number):
    if os.environ.get(DRAWN):
        with Path(os.environ[DRAWN]).open("a") as drawn:
            drawn.write(f"{number} ")


def test_a_figure_is_measured(figure):
    if os.environ.get(DRAWN):
        figure("measured in a run of its own")


def drawn_by(path, *options):
    """Return what a run of its own prints, and the numbers that it drew."""
    path.write_text("")
    of_this_run = {"PYTEST_ADDOPTS": "", DRAWN: str(path)}
    run = subprocess.run(
        [
            *(sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"),
            f"{__file__}::test_numbers_are_drawn",
            f"{__file__}::test_a_figure_is_measured",
            *options,
        ],
        cwd=ROOT,
        env=os.environ | of_this_run,
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    return run.stdout, path.read_text()


def test_two_runs_draw_the_same_and_a_seed_others(tmp_path):
    printed, first = drawn_by(tmp_path / "drawn")
    assert "--random-examples" not in printed
    assert drawn_by(tmp_path / "drawn")[1] == first

    printed, seventh = drawn_by(tmp_path / "drawn", "--random-examples", "7")
    assert "Repeat these with --random-examples 7" in printed
    assert seventh != first

    in_another_process = ["--random-examples", "7", "-n", "1"]
    printed, again = drawn_by(tmp_path / "drawn", *in_another_process)
    assert "Repeat these with --random-examples 7" in printed
    assert "measured in a run of its own" in printed
    assert again == seventh


def test_this_run_is_fixed_unless_random_examples_were_asked_for(pytestconfig):
    asked = pytestconfig.getoption("random_examples") is not None

    assert settings().derandomize is not asked
