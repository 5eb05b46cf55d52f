"""What templates say of planned cakes."""

from django import template

from planning.web.cakes.cake_words import clock_words, size_of

register = template.Library()
register.filter("clock_words", clock_words)
register.filter("size_of", size_of)
