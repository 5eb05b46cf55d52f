"""Workbooks made in memory, and what reading them gives."""

import io

import openpyxl
import pytest

from planning.interchange.errors import KitchenFileError
from planning.interchange.grids import kitchen_cells
from planning.interchange.limits import BY_COMMAND
from planning.interchange.workbook_reading import read_workbook


def a_workbook(**sheets):
    """Each sheet as a list of rows; the words of its name joined by _."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name.replace("_", " "))
        for row in rows:
            sheet.append(row)
    return book


def saved(book):
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def places_file():
    return saved(a_workbook(Places=[["place", "walk_order"], ["shelf", 1]]))


def cells(content):
    return kitchen_cells(read_workbook(io.BytesIO(content), "kitchen.xlsx", BY_COMMAND))


def entries(content, sheet):
    return cells(content).sheets[sheet].entries


def faults(kitchen):
    return [str(fault) for fault in kitchen.faults]


def refused(content):
    with pytest.raises(KitchenFileError) as error:
        read_workbook(io.BytesIO(content), "kitchen.xlsx", BY_COMMAND)
    return str(error.value)
