"""The one writer of movements; levels and lots; corrections; proof."""
