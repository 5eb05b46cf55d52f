import pytest

from stock.entry.entries import Change, EntryFaultsError
from stock.items.places import keep_places, move_in_walk, place_entries
from stock.models import Place
from stock.saving.versions import ChangedSinceError
from tests import build

pytestmark = pytest.mark.django_db


def faults_of(job, *args, **kwargs):
    with pytest.raises(EntryFaultsError) as caught:
        job(*args, **kwargs)
    return [(fault.row, fault.column, fault.message) for fault in caught.value.faults]


def test_new_places_are_added_and_the_same_again_changes_nothing():
    entries = [{"place": "walk-in", "walk_order": "10"}, {"place": "bins"}]

    first = keep_places(entries)
    second = keep_places(entries)

    assert first.added == ("walk-in", "bins")
    assert (second.added, second.changed, second.unchanged) == ((), (), 2)


def test_names_match_without_case_and_outer_spaces():
    keep_places([{"place": "Walk-in", "walk_order": 10}])

    kept = keep_places([{"place": " walk-IN ", "walk_order": 20}])

    assert kept.changed == (Change("Walk-in", "walk_order", "10", "20"),)
    assert Place.objects.get().name == "Walk-in"


def test_an_accented_letter_is_the_same_in_either_case():
    # The database alone would take two: SQLite's own lower() knows ASCII only.
    keep_places([{"place": "Étagère"}])

    assert keep_places([{"place": "étagère"}]).unchanged == 1
    assert faults_of(keep_places, [{"place": "éTAGÈRE"}], ids=[None]) == [
        (1, "place", "éTAGÈRE already exists.")
    ]


def test_a_column_that_is_left_out_stays_and_a_blank_one_takes_the_default():
    keep_places([{"place": "bins", "walk_order": 10}])

    keep_places([{"place": "bins"}])
    assert Place.objects.get().walk_order == 10

    keep_places([{"place": "bins", "walk_order": ""}])
    assert Place.objects.get().walk_order == 0


def test_all_faults_are_listed_and_nothing_is_stored():
    faults = faults_of(
        keep_places,
        [
            {"place": "bins"},
            {"place": "", "walk_order": "x"},
            {"place": "BINS"},
        ],
    )

    assert faults == [
        (2, "place", "“Place” must not stay blank."),
        (2, "walk_order", "'x' isn't a number. Write a bare number like 3."),
        (3, "place", "BINS is in row 1 already."),
    ]
    assert not Place.objects.exists()


def test_rows_are_numbered_as_the_caller_numbers_them():
    entries = [{"place": "bins"}, {"place": "bins"}]

    faults = faults_of(keep_places, entries, rows=[12, 15])

    assert faults == [(15, "place", "Bins is in row 12 already.")]


def test_a_page_renames_a_place_but_not_to_the_name_of_another():
    keep_places([{"place": "bins"}, {"place": "loft"}])
    bins = Place.objects.get(name="bins")

    kept = keep_places([{"place": "flour bins"}], ids=[bins.pk])
    assert kept.changed == (Change("flour bins", "place", "bins", "flour bins"),)

    faults = faults_of(keep_places, [{"place": "Loft"}], ids=[bins.pk])
    assert faults == [(1, "place", "Loft already exists.")]


def test_a_page_that_adds_does_not_change_what_is_there():
    keep_places([{"place": "bins", "walk_order": 10}])

    faults = faults_of(keep_places, [{"place": "Bins", "walk_order": 1}], ids=[None])

    assert faults == [(1, "place", "Bins already exists.")]
    assert Place.objects.get().walk_order == 10


def test_what_is_stored_comes_back_as_entries_in_walking_order():
    entries = [{"place": "b", "walk_order": 1}, {"place": "a", "walk_order": 2}]
    keep_places(entries)

    assert place_entries() == entries


@pytest.mark.parametrize(
    ("moved", "steps", "walk"),
    [
        ("a", 1, ["b", "a", "c"]),
        ("c", -2, ["c", "a", "b"]),
        ("a", -1, ["a", "b", "c"]),
        ("b", 7, ["a", "c", "b"]),
    ],
)
def test_a_place_is_walked_some_steps_earlier_or_later(moved, steps, walk):
    keep_places([{"place": name, "walk_order": 4} for name in "abc"])

    move_in_walk(Place.objects.get(name=moved).pk, steps=steps)

    assert place_entries() == [
        {"place": name, "walk_order": number}
        for number, name in enumerate(walk, start=1)
    ]


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    few = [{"place": f"few {number}"} for number in range(2)]
    many = [{"place": f"many {number}"} for number in range(200)]

    with django_assert_num_queries(5):
        keep_places(few)
    with django_assert_num_queries(5):
        keep_places(many)


def test_a_place_that_was_moved_meanwhile_is_not_moved_again():
    build.place("rack", walk_order=1)
    second = build.place("cellar", walk_order=2)
    seen = second.version
    move_in_walk(second.pk, steps=-1, seen=seen)

    with pytest.raises(ChangedSinceError, match="Cellar: changed after you opened it"):
        move_in_walk(second.pk, steps=1, seen=seen)

    assert [row["place"] for row in place_entries()] == ["cellar", "rack"]
