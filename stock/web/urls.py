"""The addresses of the stock pages."""

from django.urls import URLPattern, URLResolver, path

from stock.web import (
    item,
    item_forms,
    on_hand,
    packs,
    parts,
    places,
    shelves,
    suppliers,
)

app_name = "stock"
urlpatterns: list[URLPattern | URLResolver] = [
    path("shelves/", shelves.shelves, name="shelves"),
    path("shelves/add/", item_forms.add_item, name="add_item"),
    path("shelves/<int:item_id>/", item.item, name="item"),
    path("shelves/<int:item_id>/change/", item_forms.change_item, name="change_item"),
    path("shelves/<int:item_id>/retire/", item_forms.retire, name="retire_item"),
    path("shelves/<int:item_id>/unretire/", item_forms.unretire, name="unretire_item"),
    path("shelves/<int:item_id>/set/", on_hand.set_on_hand_page, name="set_on_hand"),
    path("shelves/<int:item_id>/parts/add/", parts.add_part, name="add_part"),
    path("shelves/<int:item_id>/part/", parts.change_part, name="change_part"),
    path("shelves/<int:item_id>/packs/add/", packs.add_item_pack, name="add_item_pack"),
    path("shelves/places/", places.places, name="places"),
    path("shelves/places/add/", places.add_place, name="add_place"),
    path("shelves/places/<int:place_id>/", places.change_place, name="change_place"),
    path("shelves/places/<int:place_id>/move/", places.move_place, name="move_place"),
    path("suppliers/", suppliers.suppliers, name="suppliers"),
    path("suppliers/add/", suppliers.add_supplier, name="add_supplier"),
    path("suppliers/<int:supplier_id>/", suppliers.supplier, name="supplier"),
    path(
        "suppliers/<int:supplier_id>/change/",
        suppliers.change_supplier,
        name="change_supplier",
    ),
    path(
        "suppliers/<int:supplier_id>/retire/", suppliers.retire, name="retire_supplier"
    ),
    path(
        "suppliers/<int:supplier_id>/unretire/",
        suppliers.unretire,
        name="unretire_supplier",
    ),
    path(
        "suppliers/<int:supplier_id>/packs/add/",
        packs.add_supplier_pack,
        name="add_supplier_pack",
    ),
    path("suppliers/packs/<int:pack_id>/", packs.change_pack, name="change_pack"),
    path("suppliers/packs/<int:pack_id>/retire/", packs.retire, name="retire_pack"),
    path(
        "suppliers/packs/<int:pack_id>/unretire/", packs.unretire, name="unretire_pack"
    ),
]
