"""What a page pays for the largest files it takes, and for those it refuses.

Assumed: a worker that is otherwise idle, one file at a time. Each file is read in a
process of its own; memory is what its peak lies over the peak without a file.

    python -m tests.benchmarks.bench_upload
"""

import io
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
django.setup()

from planning.interchange import limits  # noqa: E402 (after Django is set up)
from planning.interchange.errors import KitchenFileError  # noqa: E402
from planning.interchange.limits import ON_A_PAGE  # noqa: E402
from planning.interchange.workbook_reading import read_workbook  # noqa: E402
from tests.planning.test_workbook_bounds import (  # noqa: E402
    MAIN,
    SHEET,
    TEXTS,
    styles,
    with_part,
)

LONG = "x" * 40
FILES = {
    "nothing": lambda: None,
    "most cells": lambda: with_part(
        SHEET,
        f'<worksheet xmlns="{MAIN}"><sheetData>',
        '<row><c t="inlineStr"><is><t>{0} ' + LONG + "</t></is></c></row>",
        ON_A_PAGE.cells - 10,
        "</sheetData></worksheet>",
    ),
    "most texts": lambda: with_part(
        TEXTS,
        f'<sst xmlns="{MAIN}">',
        "<si><t>{} " + LONG + "</t></si>",
        ON_A_PAGE.text_elements // 2 - 10,
        "</sst>",
    ),
    "most styles": lambda: styles(limits.MOST_OTHER_ELEMENTS - 1_000),
    "1,500,000 styles": lambda: styles(1_500_000),
    "990,000 cells": lambda: with_part(
        SHEET,
        f'<worksheet xmlns="{MAIN}"><sheetData>',
        "<row><c><v>{0}</v></c></row>",
        990_000,
        "</sheetData></worksheet>",
    ),
    "one text of 35 MB": lambda: with_part(
        TEXTS, f'<sst xmlns="{MAIN}"><si><t>', "{:x} ", 4_600_000, "</t></si></sst>"
    ),
}


def read_one(name: str) -> None:
    """Read one file, and print megabytes of peak, seconds and what came of it."""
    made = FILES[name]()
    content = b"" if made is None else made.getvalue()
    del made
    answer = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.bench_upload", "--read"],
        input=content,
        capture_output=True,
        check=True,
    )
    peak_mb, seconds, outcome = answer.stdout.decode().split("|")
    packed_mb = len(content) / 2**20
    print(f"{name:20} {packed_mb:6.2f} MB  {peak_mb} MB  {seconds} s  {outcome}")


def read_standard_input() -> None:
    content = sys.stdin.buffer.read()
    started_s = time.process_time()
    outcome = "read"
    if content:
        try:
            read_workbook(io.BytesIO(content), "kitchen.xlsx", ON_A_PAGE)
        except KitchenFileError as error:
            outcome = str(error)[:60]
    took_s = time.process_time() - started_s
    # Not getrusage, which hands a parent's peak on to its child.
    peak_kb = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())[1]
    peak_mb = int(peak_kb) / 1024
    print(f"{peak_mb:7.0f}|{took_s:6.2f}|{outcome}", end="")


if __name__ == "__main__":
    if "--read" in sys.argv:
        read_standard_input()
    else:
        print("file                   packed     peak       CPU     outcome")
        for each in FILES:
            read_one(each)
