"""What all tests share: a database on disk, and a ledger that tests may empty."""

import os
import random
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import hypothesis
import pytest
from django.db import connection, connections
from django.test import TransactionTestCase
from django.utils import timezone

from stock.ledger import guard
from stock.ledger.verifying import verify_ledger
from tests import build

# In the normal run examples are the same every time: a change is red because of
# itself. What random examples find becomes an `@example`, or a test of its own.
# A speed is a benchmark, and a busy machine no fault: nothing here has a deadline.
hypothesis.settings.register_profile("fixed", derandomize=True, deadline=None)
hypothesis.settings.register_profile(
    "random", derandomize=False, database=None, deadline=None
)
NEW_SEED = -1
FIGURE = "figure"
LONGEST_WAIT_S = 120


def pytest_addoption(parser):
    parser.addoption(
        "--random-examples",
        type=int,
        nargs="?",
        const=NEW_SEED,
        metavar="SEED",
        help="draw other examples than the fixed ones, by a seed that is printed",
    )
    parser.addoption(
        "--leaving-runs",
        type=int,
        default=20,
        help="how often each way of leaving a count sheet in a hurry is tried",
    )
    parser.addoption(
        "--fresh-machine",
        action="store_true",
        help="also install the program anew and serve it, as README says; minutes",
    )
    parser.addoption(
        "--kills",
        type=int,
        default=30,
        help="how often jobs are killed half way; 200 takes minutes",
    )


@pytest.fixture
def leaving_runs(request):
    """How often each way of leaving a count sheet in a hurry is tried."""
    return request.config.getoption("--leaving-runs")


@pytest.fixture
def fresh_machine(request):
    """Skip what installs the program anew, unless it is asked for or runs on CI."""
    if not (request.config.getoption("--fresh-machine") or os.environ.get("CI")):
        pytest.skip("it installs the program anew: asked for by --fresh-machine")


@pytest.fixture
def figure(request):
    """Say a figure that the test has measured; it is printed at the end of the run.

    It travels with the test's report, so also from a process beside the first.
    """
    return lambda said: request.node.user_properties.append((FIGURE, said))


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config):
    seed = config.getoption("random_examples")
    if seed is None:
        hypothesis.settings.load_profile("fixed")
        return
    hypothesis.settings.load_profile("random")
    config.option.random_examples = (
        random.SystemRandom().randrange(2**32) if seed == NEW_SEED else seed
    )
    # Hypothesis' own option, which its plugin reads right after this.
    config.option.hypothesis_seed = str(config.option.random_examples)


def pytest_terminal_summary(terminalreporter, config):
    figures = [
        said
        for outcome in ("passed", "failed")
        for report in terminalreporter.getreports(outcome)
        for name, said in report.user_properties
        if name == FIGURE
    ]
    if figures:
        terminalreporter.section(f"figures, on {connection.vendor}")
        for said in figures:
            terminalreporter.write_line(said)
    seed = config.getoption("random_examples")
    if seed is not None:
        terminalreporter.write_line(f"Repeat these with --random-examples {seed}")


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix, tmp_path_factory
):
    """A database for each process; SQLite's in a file, as in use.

    In memory, two connections are never two.
    """
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        folder = tmp_path_factory.mktemp("database")
        database["TEST"]["NAME"] = str(folder / "test.sqlite3")


@pytest.fixture(scope="session", autouse=True)
def _tests_may_empty_the_ledger():
    """Let a test that really commits be cleared away in spite of the triggers."""
    empty_tables = TransactionTestCase._fixture_teardown

    def teardown(self):
        with _unguarded_ledger():
            empty_tables(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", teardown)
        yield


@pytest.fixture
def at_once():
    """Run jobs on as many connections, each so many times, all starting together.

    The test must really commit: `@pytest.mark.django_db(transaction=True)`.
    """
    with _patient(connection):
        yield _run_at_once


@pytest.fixture(autouse=True)
def _a_site_for_tests(settings):
    """Static files lie as they are, a password costs no time, the machine is on UTC."""
    settings.MACHINE_TIME_ZONE = "UTC"
    settings.WHITENOISE_AUTOREFRESH = True
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def signed_in(client, db):
    """A browser in which ada has signed in."""
    client.force_login(build.user("ada"))
    return client


@pytest.fixture
def clock(monkeypatch):
    """A clock that stands still at noon of the Monday in tests/build.py.

    A test that wants another moment sets `clock["now"]`.
    """
    clock = {"now": build.NOON}
    monkeypatch.setattr(timezone, "now", lambda: clock["now"])
    return clock


@pytest.fixture
def at_noon(clock):
    """The clock stands still at noon of that Monday, for a whole module."""


@pytest.fixture
def ledger_stays_whole():
    """Prove the ledger after each test of a module."""
    yield
    assert verify_ledger().is_whole


@pytest.fixture
def empty_place(tmp_path):
    """A database URL at which there is nothing yet."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}"
        return
    given, name = connection.settings_dict, f"{connection.settings_dict['NAME']}_back"
    with connection._nodb_cursor() as cursor:
        cursor.execute(f'DROP DATABASE IF EXISTS "{name}"')
        cursor.execute(f'CREATE DATABASE "{name}"')
    user = (
        f"{given['USER']}:{given['PASSWORD']}" if given["PASSWORD"] else given["USER"]
    )
    yield f"postgresql://{user}@{given['HOST']}:{given['PORT']}/{name}"
    with connection._nodb_cursor() as cursor:
        cursor.execute(f'DROP DATABASE "{name}"')


@contextmanager
def _patient(connection):
    """Let SQLite wait longer for its turn: which of many gets it next is chance."""
    if connection.vendor != "sqlite":
        yield
        return
    options = connections.settings[connection.alias]["OPTIONS"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(options, "timeout", LONGEST_WAIT_S)
        yield


def _run_at_once(*jobs, times):
    start = threading.Barrier(len(jobs))

    def run(job):
        start.wait()
        try:
            for number in range(times):
                job(number)
        finally:
            connection.close()

    with ThreadPoolExecutor(len(jobs)) as pool:
        for done in [pool.submit(run, job) for job in jobs]:
            done.result()


@contextmanager
def _unguarded_ledger():
    guard.remove(connection)
    try:
        yield
    finally:
        guard.install(connection)
