"""What is short in one course of an item that a delivery could have helped."""

import numpy as np

from planning.engine.ordering.pricing.tasks import Course, Task


class Shortages:
    """By day: what runs out, what is below its level; and whether only par is.

    `most_out_base` is missing at one time, `most_base` with safety and par counted.
    """

    def __init__(self, task: Task, course: Course) -> None:
        slack = task.tolerance_base
        more_owed_base = course.owed_base - task.most_owed_base
        self.out = more_owed_base > slack
        self.most_out_base = float(more_owed_base.max())
        low_base = task.least_closing_base - course.closing_base
        self.low = low_base > slack
        self.most_base = max(self.most_out_base, float(low_base.max()))
        self.any = bool(self.out.any() or self.low.any())
        last_low = bool(self.low[-1]) and not self.low[:-1].any()
        has_par = task.par_base > float(task.least_closing_base[:-1].max(initial=0.0))
        self.is_below_par = last_low and has_par
        if self.is_below_par:
            self.low = np.zeros_like(self.low)
