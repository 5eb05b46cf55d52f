"""`manage.py migrate`: as Django's, and then the search's machine code.

A new version of the program is migrated before it serves, so that is when its code is
made; calls from other code, as in tests, do not make it.
"""

from django.core.management.commands import migrate

from planning.search.machine_code import make_in_background


class Command(migrate.Command):
    def run_from_argv(self, argv: list[str]) -> None:
        super().run_from_argv(argv)
        make_in_background()
