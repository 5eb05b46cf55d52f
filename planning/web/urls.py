"""The addresses of the planning pages."""

from django.urls import URLPattern, URLResolver, path

from planning.web import health
from planning.web.ahead import page as ahead
from planning.web.baking import form as making_form
from planning.web.baking import page as making
from planning.web.cakes import bake_plan, cake_pages, copy_cakes, planned_cakes
from planning.web.kitchen import calendar, kitchen_files, people
from planning.web.kitchen import page as kitchen
from planning.web.labels import page as labels_page
from planning.web.orders import (
    answer,
    order,
    order_files,
    order_start,
    receive,
    revision,
    scan,
    search_page,
)
from planning.web.orders import page as orders
from planning.web.recipes import page as recipes
from planning.web.recipes import recipe, recipe_lines, where_used
from planning.web.scenarios import can_take, what_if
from planning.web.shortfalls import days_ahead, rescue
from planning.web.shortfalls import page as shortfalls
from planning.web.tickets import page as tickets
from planning.web.today import page as today
from planning.web.tracing import page as tracing
from stock.web.request import row_ids  # noqa: F401 (makes `<row:...>` known)

app_name = "planning"
urlpatterns: list[URLPattern | URLResolver] = [
    path("", today.today, name="today"),
    path("health/", health.health_page, name="health"),
    path("calendar/", calendar.calendar, name="calendar"),
    path("calendar/make/", calendar.make, name="make_calendar"),
    path("calendar/remove/", calendar.remove, name="remove_calendar"),
    path("calendar.ics", calendar.calendar_feed, name="calendar_feed"),
    path("shortfalls/", shortfalls.shortfalls, name="shortfalls"),
    path("shortfalls/days/", days_ahead.days_ahead, name="days_ahead"),
    path("can-we-take-it/", can_take.can_take, name="can_take"),
    path("what-if/", what_if.what_if, name="what_if"),
    path("what-if/review/", what_if.review, name="what_if_review"),
    path("what-if/accept/", what_if.accept, name="what_if_accept"),
    path("what-if/take-back/", what_if.take_back, name="what_if_take_back"),
    path("rescue/", rescue.rescue, name="rescue"),
    path("ahead/<row:item_id>/", ahead.ahead, name="ahead"),
    path("ahead/<row:item_id>/<str:on>/", ahead.reasons, name="reasons"),
    path("bake-plan/", bake_plan.bake_plan, name="bake_plan"),
    path("bake-plan/list/", bake_plan.bake_plan_list, name="bake_plan_list"),
    path("bake-plan/add/", cake_pages.add_cake, name="add_cake"),
    path("bake-plan/size/", cake_pages.size_echo, name="size_echo"),
    path("bake-plan/copy/", copy_cakes.copy_cakes, name="copy_cakes"),
    path("bake-plan/copy/undo/", copy_cakes.cancel_copies, name="cancel_copies"),
    path(
        "bake-plan/<row:planned_id>/", planned_cakes.planned_cake, name="planned_cake"
    ),
    path(
        "bake-plan/<row:planned_id>/change/", cake_pages.change_cake, name="change_cake"
    ),
    path(
        "bake-plan/<row:planned_id>/status/",
        planned_cakes.set_cake_status,
        name="set_cake_status",
    ),
    path(
        "bake-plan/<row:planned_id>/baked/", planned_cakes.mark_baked, name="mark_baked"
    ),
    path(
        "bake-plan/<row:planned_id>/cancel/",
        planned_cakes.cancel_cake,
        name="cancel_cake",
    ),
    path("bake-plan/<row:planned_id>/ticket/", tickets.ticket, name="ticket"),
    path(
        "bake-plan/<row:planned_id>/ticket/print/",
        tickets.print_ticket,
        name="print_ticket",
    ),
    path("bake-plan/<row:planned_id>/copy/", planned_cakes.copy_cake, name="copy_cake"),
    path("trace/", tracing.search, name="trace_search"),
    path("trace/<str:kind>/<row:row_id>/", tracing.trace, name="trace"),
    path(
        "trace/<str:kind>/<row:row_id>/links.csv",
        tracing.trace_file,
        name="trace_file",
    ),
    path("making/", making.making, name="making"),
    path("making/<row:item_id>/", making_form.make, name="make"),
    path("making/bakes/<row:bake_id>/undo/", making.undo, name="undo_bake"),
    path("recipes/", recipes.recipes, name="recipes"),
    path("recipes/add/", recipes.add_recipe, name="add_recipe"),
    path("recipes/<row:item_id>/", recipe.recipe, name="recipe"),
    path("recipes/<row:item_id>/change/", recipes.change_recipe, name="change_recipe"),
    path("recipes/<row:item_id>/retire/", recipes.retire, name="retire_recipe"),
    path("recipes/<row:item_id>/unretire/", recipes.unretire, name="unretire_recipe"),
    path("recipes/<row:item_id>/lines/add/", recipe_lines.add_line, name="add_line"),
    path("recipes/lines/<row:line_id>/", recipe_lines.recipe_line, name="recipe_line"),
    path(
        "recipes/lines/<row:line_id>/remove/",
        recipe_lines.remove_line,
        name="remove_line",
    ),
    path("recipes/used/<row:item_id>/", where_used.where_used, name="where_used"),
    path("kitchen/files/", kitchen_files.kitchen_files, name="kitchen_files"),
    path(
        "kitchen/files/download/",
        kitchen_files.kitchen_download,
        name="kitchen_download",
    ),
    path(
        "kitchen/files/<str:token>/",
        kitchen_files.kitchen_preview,
        name="kitchen_preview",
    ),
    path(
        "kitchen/files/<str:token>/store/",
        kitchen_files.kitchen_store,
        name="kitchen_store",
    ),
    path("orders/", orders.orders, name="orders"),
    path("orders/draft/", orders.draft, name="draft_orders"),
    path("orders/better/", search_page.order_search, name="order_search"),
    path("orders/better/start/", search_page.start, name="start_order_search"),
    path("orders/better/leave/", search_page.leave, name="leave_found_orders"),
    path(
        "orders/better/<row:search_id>/stop/",
        search_page.stop,
        name="stop_order_search",
    ),
    path(
        "orders/better/<row:search_id>/draft/",
        search_page.draft,
        name="draft_found_orders",
    ),
    path("labels/", labels_page.print_labels, name="print_labels"),
    path("orders/past/", orders.past_orders, name="past_orders"),
    path("orders/start/", order_start.start, name="start_order"),
    path("orders/not-sent.zip", order_files.orders_zip, name="orders_zip"),
    path("orders/<row:order_id>/", order.order, name="order"),
    path("orders/<row:order_id>/approve/", order.approve, name="approve_order"),
    path(
        "orders/<row:order_id>/back-to-draft/",
        order.back_to_draft,
        name="order_to_draft",
    ),
    path("orders/<row:order_id>/send/", order.send, name="send_order"),
    path("orders/<row:order_id>/cancel/", order.cancel, name="cancel_order"),
    path("orders/<row:order_id>/scan/", scan.scan, name="scan_label"),
    path("orders/<row:order_id>/receive/", receive.receive, name="receive_order"),
    path(
        "orders/<row:order_id>/receive/<row:line_id>/",
        receive.receive_line,
        name="receive_line",
    ),
    path("orders/<row:order_id>/answer/", answer.answer, name="answer_order"),
    path("orders/<row:order_id>/revise/", revision.revise, name="revise_order"),
    path("orders/<row:order_id>/revision/", revision.revision, name="revision"),
    path(
        "orders/<row:order_id>/revision/approve/",
        revision.approve,
        name="approve_revision",
    ),
    path(
        "orders/<row:order_id>/revision/back-to-draft/",
        revision.back_to_draft,
        name="revision_to_draft",
    ),
    path("orders/<row:order_id>/revision/send/", revision.send, name="send_revision"),
    path(
        "orders/<row:order_id>/revision/discard/",
        revision.discard,
        name="discard_revision",
    ),
    path(
        "orders/<row:order_id>/revision/file/<str:ending>/",
        revision.revision_file,
        name="revision_file",
    ),
    path("orders/<row:order_id>/close/", receive.close_order, name="close_order"),
    path("orders/<row:order_id>/new-day/", receive.new_day, name="order_new_day"),
    path(
        "orders/<row:order_id>/deliveries/<row:delivery_id>/undo/",
        receive.undo,
        name="undo_delivery",
    ),
    path(
        "orders/<row:order_id>/file/<str:ending>/",
        order_files.order_file,
        name="order_file",
    ),
    path("kitchen/", kitchen.kitchen, name="kitchen"),
    path("kitchen/people/add/", people.add, name="add_person"),
    path("kitchen/people/<row:person_id>/", people.change, name="change_person"),
    path(
        "kitchen/people/<row:person_id>/password/",
        people.password,
        name="person_password",
    ),
]
