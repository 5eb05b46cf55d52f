"""A database that is thrown away, and a clock, for benchmarks run by themselves."""

import os
import time

ROUNDS = 7


def open_database(path):
    """Set Django up on an empty SQLite file; call it before any model is imported."""
    os.environ["DATABASE_URL"] = f"sqlite:///{path}"
    os.environ["DJANGO_SETTINGS_MODULE"] = "stock.site.settings"
    os.environ.pop("DEBUG", None)  # with it on, every query is kept in memory
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)


def best_seconds(run, rounds=ROUNDS):
    """Return the shortest of a few runs, the first left out: it warms the caches."""
    run()
    taken = []
    for _ in range(rounds):
        started = time.perf_counter()
        run()
        taken.append(time.perf_counter() - started)
    return min(taken)
