"""What tests of going out and coming in share."""

from decimal import Decimal

from planning.interchange.taking_out import kitchen_out

SETTINGS = {
    "bakery": "Quince & Rye",
    "time_zone": "America/Chicago",
    "currency": "CAD",
    "week_starts": "Sun",
    "par_days": "Wed Sat",
    "closed_days": "Mon",
    "closed_on": "2026-12-25; 2027-01-01",
    "horizon_days": 21,
    "layer_height": "4 cm",
    "address": "12 Mill Lane\nRear entrance",
    "phone": "555 0100",
    "delivery_note": "Ring twice",
    "leftover_worth": Decimal("0.75"),
}


def cells_out():
    return {
        out.name: [
            dict(zip([c.name for c in out.sheet.columns], row, strict=True))
            for row in out.rows
        ]
        for out in kitchen_out().sheets
    }
