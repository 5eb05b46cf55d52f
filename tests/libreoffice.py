"""Another spreadsheet program, to read or save what we wrote."""

import os
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest

LONGEST_SECONDS = 120  # a first start writes its profile


def convert(path: Path, file_format: str, folder: Path) -> None:
    """Have LibreOffice write a file in another format into a folder."""
    convert_all([path], file_format, folder)


def convert_all(paths: Sequence[Path], file_format: str, folder: Path) -> None:
    """Have LibreOffice write some files of one folder anew, in a single start.

    Where it is not installed the test is skipped; a build server has to have it.
    """
    program = found("libreoffice-calc", "soffice", "libreoffice")
    subprocess.run(
        [
            program,
            "--headless",
            f"-env:UserInstallation=file://{paths[0].parent}/profile",
            "--convert-to",
            file_format,
            "--outdir",
            str(folder),
            *map(str, paths),
        ],
        check=True,
        capture_output=True,
        timeout=LONGEST_SECONDS,
    )


def pdf_pages(path: Path) -> list[str]:
    """Return the words of each page of a PDF, laid out as they are printed."""
    program = found("poppler-utils", "pdftotext")
    done = subprocess.run(
        [program, "-layout", str(path), "-"], check=True, capture_output=True, text=True
    )
    return done.stdout.split("\f")[:-1]


def found(package: str, *programs: str) -> str:
    """Return the first of some programs that is installed."""
    for name in programs:
        if program := shutil.which(name):
            return program
    if os.environ.get("CI"):
        pytest.fail(f"{programs[0]} is missing: install {package}.")
    pytest.skip(f"{programs[0]} is not installed, so nothing can be read with it.")
