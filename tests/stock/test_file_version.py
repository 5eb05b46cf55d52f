"""The version of the files that pages load: another file, another version."""

import pytest
from django.conf import settings
from django.templatetags.static import static

from stock.site.file_version import file_version


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "count").mkdir()
    (tmp_path / "count" / "line.js").write_text("one")
    (tmp_path / "site.css").write_text("two")
    return tmp_path


def version_of(folder):
    return file_version([folder], packages=["Django"])


def test_the_same_files_are_of_the_same_version(folder):
    before = version_of(folder)
    (folder / ".line.js.swp").write_text("an editor's")

    assert version_of(folder) == before
    assert before.isalnum()


@pytest.mark.parametrize("change", ["written", "renamed", "added", "removed"])
def test_any_change_of_a_file_makes_another_version(folder, change):
    before = version_of(folder)

    script = folder / "count" / "line.js"
    if change == "written":
        script.write_text("One")
    elif change == "renamed":
        script.rename(folder / "line.js")
    elif change == "added":
        (folder / "none.js").touch()
    else:
        script.unlink()

    assert version_of(folder) != before


def test_another_version_of_a_package_is_another_of_the_files(folder):
    one = file_version([folder], packages=["Django"])

    assert file_version([folder], packages=["Django", "pytest"]) != one


def test_every_file_is_served_under_it_and_under_no_other(client, db):
    address = static("stock/site.css")

    assert address == f"/static/{settings.FILE_VERSION}/stock/site.css"
    response = client.get(address)
    for close in response._resource_closers:  # the test's own client leaves it open
        close()
    assert response.status_code == 200
    assert client.get("/static/000000000000/stock/site.css").status_code != 200
    assert client.get("/static/stock/site.css").status_code != 200
