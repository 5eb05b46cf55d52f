"""Another spreadsheet program, to read or save what we wrote."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

LONGEST_SECONDS = 120  # a first start writes its profile


def convert(path: Path, file_format: str, folder: Path) -> None:
    """Have LibreOffice write a file in another format into a folder.

    Where it is not installed the test is skipped; a build server has to have it.
    """
    program = shutil.which("soffice") or shutil.which("libreoffice")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("LibreOffice is missing: install libreoffice-calc.")
        pytest.skip("LibreOffice is not installed, so it cannot open the file.")
    subprocess.run(
        [
            program,
            "--headless",
            f"-env:UserInstallation=file://{path.parent}/profile",
            "--convert-to",
            file_format,
            "--outdir",
            str(folder),
            str(path),
        ],
        check=True,
        capture_output=True,
        timeout=LONGEST_SECONDS,
    )
