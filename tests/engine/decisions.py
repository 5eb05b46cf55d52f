"""Lines that somebody has decided on, for tests of what plans buy beside them."""

from dataclasses import replace

from planning.engine.kitchen import DecidedLine


def decided(kitchen, *lines):
    """The kitchen with lines of unsent orders: (pack id, packs, day)."""
    supplier_of = {pack.pack_id: pack.supplier for pack in kitchen.packs}
    return replace(
        kitchen,
        decided=tuple(
            DecidedLine(f"D-{n}", True, pack_id, packs, supplier_of[pack_id], on)
            for n, (pack_id, packs, on) in enumerate(lines, start=1)
        ),
    )


def packs_of(purchasing):
    """The packs of every line by (pack id, day)."""
    return {
        (line.pack.pack_id, order.deliver_on): line.packs
        for order in purchasing.orders
        for line in order.lines
    }
