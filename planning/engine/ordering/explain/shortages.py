"""What is short in one course of an item that a delivery could have helped."""

import numpy as np

from planning.engine.ordering.pricing.tasks import Course, Task


class Shortages:
    """By day: what runs out, what is below safety, and what is below par alone.

    `most_out_base` is missing at one time, `most_base` with safety and par counted;
    `is_most_for_par` says whether it is par that makes it so much.
    """

    def __init__(self, task: Task, course: Course) -> None:
        slack = task.tolerance_base
        more_owed_base = course.owed_base - task.most_owed_base
        self.out = more_owed_base > slack
        self.most_out_base = float(more_owed_base.max())
        for_safety_base = np.minimum(task.least_closing_base, task.safety_base)
        self.low = for_safety_base - course.closing_base > slack
        low_base = task.least_closing_base - course.closing_base
        self.below_par = (low_base > slack) & ~self.low
        self.most_base = max(self.most_out_base, float(low_base.max()))
        self.any = bool(self.out.any() or (low_base > slack).any())
        day = int(np.argmax(low_base))
        self.is_most_for_par = bool(
            task.least_closing_base[day] > for_safety_base[day] + slack
        )
