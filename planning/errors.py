"""What can go wrong with a plan, each with a sentence that a baker can act on."""


class PlanningError(Exception):
    """The base of everything that this app refuses."""
