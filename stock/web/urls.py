"""The addresses of the stock pages."""

from django.urls import URLPattern, URLResolver, path

from stock.web.counts import devices as count_devices
from stock.web.counts import entries as count_entries
from stock.web.counts import offline as count_offline
from stock.web.counts import page as counts
from stock.web.counts import paper as count_paper
from stock.web.counts import review as count_review
from stock.web.counts import sheet as count_sheet
from stock.web.counts import steps as count_steps
from stock.web.counts import tares
from stock.web.holding import lot as lot_page
from stock.web.holding import page as holds_page
from stock.web.items import item, item_forms, parts, substitutes
from stock.web.journal import page as journal_page
from stock.web.labels import finding
from stock.web.moving import form as move_form
from stock.web.moving import page as moves_page
from stock.web.request import (
    row_ids,  # noqa: F401 (makes `<row:...>` known)
    time_zone,
)
from stock.web.shelves import counted_in, on_hand, places, shelves
from stock.web.suppliers import packs, suppliers
from stock.web.wasting import form as waste_form
from stock.web.wasting import page as waste_page

app_name = "stock"
urlpatterns: list[URLPattern | URLResolver] = [
    path("time-zone/", time_zone.set_time_zone, name="set_time_zone"),
    path("shelves/", shelves.shelves, name="shelves"),
    path("shelves/add/", item_forms.add_item, name="add_item"),
    path("shelves/<row:item_id>/", item.item, name="item"),
    path("shelves/<row:item_id>/change/", item_forms.change_item, name="change_item"),
    path("shelves/<row:item_id>/retire/", item_forms.retire, name="retire_item"),
    path("shelves/<row:item_id>/unretire/", item_forms.unretire, name="unretire_item"),
    path(
        "shelves/<row:item_id>/counted-in/",
        counted_in.choose_counting_unit,
        name="choose_counting_unit",
    ),
    path("shelves/<row:item_id>/set/", on_hand.set_on_hand_page, name="set_on_hand"),
    path("shelves/<row:item_id>/parts/add/", parts.add_part, name="add_part"),
    path("shelves/<row:item_id>/part/", parts.change_part, name="change_part"),
    path("shelves/<row:item_id>/packs/add/", packs.add_item_pack, name="add_item_pack"),
    path(
        "shelves/<row:item_id>/substitutes/add/",
        substitutes.add_substitute,
        name="add_substitute",
    ),
    path(
        "shelves/substitutes/<row:substitute_id>/",
        substitutes.change_substitute,
        name="change_substitute",
    ),
    path(
        "shelves/substitutes/<row:substitute_id>/take-away/",
        substitutes.take_away_substitute,
        name="take_away_substitute",
    ),
    path("shelves/places/", places.places, name="places"),
    path("shelves/places/add/", places.add_place, name="add_place"),
    path("shelves/places/<row:place_id>/", places.change_place, name="change_place"),
    path("shelves/places/<row:place_id>/move/", places.move_place, name="move_place"),
    path("count/", counts.counts, name="counts"),
    path("count/worker.js", count_offline.count_worker, name="count_worker"),
    path("count/tares/", tares.tares, name="tares"),
    path("count/tares/<row:tare_id>/remove/", tares.remove_tare, name="remove_tare"),
    path("count/locked/", count_offline.count_locked, name="count_locked"),
    path("count/devices/", count_devices.count_devices, name="count_devices"),
    path("count/entries/", count_entries.count_entries, name="count_entries"),
    path(
        "count/<row:count_id>/<row:place_id>/",
        count_sheet.count_sheet,
        name="count_sheet",
    ),
    path("count/<row:count_id>/paper/", count_paper.count_paper, name="count_paper"),
    path(
        "count/<row:count_id>/type-in/",
        count_paper.count_type_in,
        name="count_type_in",
    ),
    path(
        "count/<row:count_id>/review/", count_review.count_review, name="count_review"
    ),
    path("count/<row:count_id>/done/", count_steps.end_count, name="end_count"),
    path("count/<row:count_id>/reopen/", count_steps.reopen_count, name="reopen_count"),
    path("count/<row:count_id>/decide/", count_steps.decide_count, name="decide_count"),
    path("count/<row:count_id>/note/", count_steps.note_count, name="note_count"),
    path("count/<row:count_id>/post/", count_steps.post_count, name="post_count"),
    path("count/<row:count_id>/undo/", count_steps.undo_count, name="undo_count"),
    path("count/<row:count_id>/late/", count_steps.late_seen, name="late_seen"),
    path(
        "count/<row:count_id>/discard/", count_steps.discard_count, name="discard_count"
    ),
    path("labels/find/", finding.find_label, name="find_label"),
    path("waste/", waste_page.waste_page, name="waste"),
    path("waste/<row:item_id>/", waste_form.waste_item, name="waste_item"),
    path("waste/<row:waste_id>/undo/", waste_page.undo_waste_page, name="undo_waste"),
    path("move/", moves_page.moves_page, name="moves"),
    path("move/<row:item_id>/", move_form.move_item, name="move_item"),
    path("move/<row:move_id>/undo/", moves_page.undo_move_page, name="undo_move"),
    path("holds/", holds_page.holds, name="holds"),
    path("holds/<row:hold_id>/release/", lot_page.release, name="release_hold"),
    path("lots/<row:lot_id>/", lot_page.lot, name="lot"),
    path("lots/<row:lot_id>/hold/", lot_page.hold, name="hold_lot"),
    path("journal/", journal_page.journal, name="journal"),
    path("suppliers/", suppliers.suppliers, name="suppliers"),
    path("suppliers/add/", suppliers.add_supplier, name="add_supplier"),
    path("suppliers/<row:supplier_id>/", suppliers.supplier, name="supplier"),
    path(
        "suppliers/<row:supplier_id>/change/",
        suppliers.change_supplier,
        name="change_supplier",
    ),
    path(
        "suppliers/<row:supplier_id>/retire/", suppliers.retire, name="retire_supplier"
    ),
    path(
        "suppliers/<row:supplier_id>/unretire/",
        suppliers.unretire,
        name="unretire_supplier",
    ),
    path(
        "suppliers/<row:supplier_id>/packs/add/",
        packs.add_supplier_pack,
        name="add_supplier_pack",
    ),
    path("suppliers/packs/<row:pack_id>/", packs.change_pack, name="change_pack"),
    path("suppliers/packs/<row:pack_id>/retire/", packs.retire, name="retire_pack"),
    path(
        "suppliers/packs/<row:pack_id>/unretire/", packs.unretire, name="unretire_pack"
    ),
]
