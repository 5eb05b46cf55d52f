"""What a page pays for the largest files it takes, and for those it refuses.

Assumed: a worker that is otherwise idle, one file at a time. Each file is read in a
process of its own; memory is what its peak lies over the peak without a file. The
kitchen of 19,900 new items, as many as a page takes, goes through the pages
themselves: sent, looked at and stored, over a worker that has shown a page already.

    python -m tests.benchmarks.bench_upload
"""

import io
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
django.setup()

from django.contrib.auth.models import User  # noqa: E402 (after Django is set up)
from django.core.management import call_command  # noqa: E402
from django.test import Client  # noqa: E402
from django.urls import reverse  # noqa: E402
from openpyxl import Workbook  # noqa: E402

from planning.interchange import limits  # noqa: E402 (after Django is set up)
from planning.interchange.errors import KitchenFileError  # noqa: E402
from planning.interchange.limits import ON_A_PAGE  # noqa: E402
from planning.interchange.workbook_reading import read_workbook  # noqa: E402
from stock.models import Item  # noqa: E402
from tests.planning.test_workbook_bounds import (  # noqa: E402
    MAIN,
    SHEET,
    TEXTS,
    styles,
    with_part,
)

LONG = "x" * 40
MOST_ITEMS = (ON_A_PAGE.cells - 600) // 6
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
    "6,000,000 texts": lambda: with_part(
        TEXTS, f'<sst xmlns="{MAIN}">', "<si><t>{}</t></si>", 6_000_000, "</sst>"
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
    print(f"{_peak_mb():7.0f}|{took_s:6.2f}|{outcome}", end="")


def items_file() -> bytes:
    """A workbook of as many items as a page takes cells for, no two alike."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Items")
    sheet.append(["item", "measure", "equivalents", "own_units", "safety", "par"])
    for number in range(MOST_ITEMS):
        units = f"1 cup = {100 + number} g", f"tub = {2 + number / 8} lb"
        levels = f"{1 + number % 9} lb", f"{2 + number % 5} tub"
        sheet.append([f"flour {number}", "mass", *units, *levels])
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def send_items() -> None:
    """Send, look at and store the largest kitchen; print what each page took."""
    call_command("migrate", verbosity=0)
    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.create_user("ada"))
    page = reverse("planning:kitchen_files")
    client.get(page)
    path = Path(os.environ["ITEMS_FILE"])
    idle_mb = _peak_mb()
    with path.open("rb") as file:
        seen_at = _timed("sent", idle_mb, lambda: client.post(page, {"file": file})).url
    looked = _timed("looked at", idle_mb, lambda: client.get(seen_at))
    form = re.search(
        r'action="([^"]+/store/)".*?name="fingerprint" value="(\w+)"',
        looked.content.decode(),
        re.DOTALL,
    )
    fields = {"fingerprint": form[2]}
    _timed("stored", idle_mb, lambda: client.post(form[1], fields))
    assert Item.objects.count() == MOST_ITEMS


def _timed(what: str, idle_mb: float, ask: Callable[[], Any]) -> Any:
    started_s = time.process_time()
    answer = ask()
    took_s = time.process_time() - started_s
    print(f"  {what:18} {_peak_mb() - idle_mb:15.0f} MB  {took_s:6.2f} s", flush=True)
    return answer


def _peak_mb() -> float:
    # Not getrusage, which hands a parent's peak on to its child.
    peak_kb = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())[1]
    return int(peak_kb) / 1024


def send_items_elsewhere() -> None:
    """Send the largest kitchen in a process and to a database of its own."""
    print(
        f"{MOST_ITEMS:,} items, page by page       peak over idle     CPU", flush=True
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "items.xlsx"
        path.write_bytes(items_file())
        database = f"sqlite:///{folder}/kitchen.sqlite3"
        subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.bench_upload", "--send"],
            env=os.environ | {"DATABASE_URL": database, "ITEMS_FILE": str(path)},
            check=True,
        )


if __name__ == "__main__":
    if "--read" in sys.argv:
        read_standard_input()
    elif "--send" in sys.argv:
        send_items()
    else:
        print("file                   packed     peak       CPU     outcome")
        for each in FILES:
            read_one(each)
        send_items_elsewhere()
