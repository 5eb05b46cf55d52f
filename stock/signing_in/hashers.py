"""How passwords are kept: strongly, and so that trying them takes from nobody else."""

from django.contrib.auth.hashers import Argon2PasswordHasher


class KitchenArgon2Hasher(Argon2PasswordHasher):
    """Argon2id as OWASP's Password Storage Cheat Sheet has it: 19 MiB, twice, alone.

    Django's own takes 100 MB and eight threads for each try: a dozen at once took more
    memory than a small machine has, and the processor from everybody at work.
    """

    time_cost = 2
    memory_cost = 19_456  # KiB
    parallelism = 1
