"""What jobs that keep entries say is wrong, for tests."""

import pytest

from stock.entry.entries import EntryFaultsError


def of(job, *args, **kwargs):
    """The sentences that a job refuses its entries with, by row and column."""
    with pytest.raises(EntryFaultsError) as caught:
        job(*args, **kwargs)
    return {(fault.row, fault.column): fault.message for fault in caught.value.faults}
