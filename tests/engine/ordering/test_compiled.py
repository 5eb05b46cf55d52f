from numba.core import caching

from planning.engine.ordering.pricing.compiled import compiled


def twice(number):
    return 2 * number


def test_without_a_place_to_keep_it_code_is_made_all_the_same(monkeypatch):
    monkeypatch.setattr(caching.CacheImpl, "_locator_classes", [])

    assert compiled(twice)(4) == 8
