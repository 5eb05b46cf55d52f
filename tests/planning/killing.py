"""Doing a job in a process of its own, and killing it there before its commit.

The child forks off the test, so that it works on the test's database. It never
commits: it stands still there until it is killed. What it had done by then it has
told through memory that both processes share.
"""

import os
import signal
import time
import warnings
from contextlib import suppress
from dataclasses import dataclass
from mmap import mmap

from django.db import connection

HOLDS_UP_S = 300  # that a child may take at the most
WRITES = ("INSERT", "UPDATE", "DELETE")
NEVER = 2**62
# Where in the shared memory the child counts what.
STATEMENTS, FIRST_WRITE, AT_COMMIT, NS_TO_COMMIT = range(4)


@dataclass(frozen=True)
class Hit:
    """How far a job had come when it was killed."""

    statements: int  # that had begun
    first_write: int  # which of these was the first to change rows; 0: none yet
    at_commit: bool
    seconds: float  # to the commit, where it came so far


def in_a_child(work):
    """Do something in a process of its own; return how that ended, as `os` says it."""
    return _ended(_fork(work))


def killed(job, *, at_statement=NEVER, after_s=None):
    """Do a job and be killed: before a statement, after some seconds, or at its commit.

    A moment that comes when the job is done is a kill at its commit.
    """
    shared = mmap(-1, 32)
    told = memoryview(shared).cast("q")
    child = _fork(lambda: _work_on_watch(job, told, at_statement))
    if after_s is not None:
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
    while after_s is None and not told[AT_COMMIT] and not _is_over(child):
        time.sleep(0.002)
    with suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    assert _ended(child) == -signal.SIGKILL
    return Hit(
        statements=told[STATEMENTS],
        first_write=told[FIRST_WRITE],
        at_commit=bool(told[AT_COMMIT]),
        seconds=told[NS_TO_COMMIT] / 1e9,
    )


def some_kills(job, number, draws):
    """Kill a job so often before its commit, at points drawn; yield each hit.

    At the commit first, then by turns before a statement once something is written,
    before any statement, and at any moment whatever it is doing.
    """
    whole = killed(job)
    assert whole.at_commit
    assert whole.first_write
    yield whole
    last = whole.statements
    for turn in range(number - 1):
        if turn % 3 == 0:
            # The one after the last is the commit.
            at = draws.randint(whole.first_write + 1, last + 1)
            yield killed(job, at_statement=at)
        elif turn % 3 == 1:
            yield killed(job, at_statement=draws.randint(1, last))
        else:
            yield killed(job, after_s=draws.uniform(0, whole.seconds))


def _fork(work):
    connection.close()  # a connection is never shared by two processes
    with warnings.catch_warnings():
        # Python 3.12 warns where another thread lives. Where tests run in several
        # processes one speaks with the first, and the child has no use for it.
        warnings.filterwarnings(
            "ignore", "This process .* multi-threaded", DeprecationWarning
        )
        child = os.fork()
    if child == 0:
        with suppress(BaseException):
            signal.alarm(HOLDS_UP_S)
            work()
            os._exit(0)
        os._exit(1)
    return child


def _is_over(child):
    return os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT) is not None


def _ended(child):
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status)


def _work_on_watch(job, told, at_statement):
    started_ns = time.perf_counter_ns()

    def stand_still():
        told[NS_TO_COMMIT] = time.perf_counter_ns() - started_ns
        told[AT_COMMIT] = True
        while True:
            signal.pause()

    def watch(execute, sql, *arguments):
        if told[STATEMENTS] + 1 == at_statement:
            os.kill(os.getpid(), signal.SIGKILL)
        told[STATEMENTS] += 1
        if not told[FIRST_WRITE] and sql.lstrip().upper().startswith(WRITES):
            told[FIRST_WRITE] = told[STATEMENTS]
        return execute(sql, *arguments)

    connection._commit = stand_still
    with connection.execute_wrapper(watch):
        job()
    stand_still()
