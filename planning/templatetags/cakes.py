"""What templates say of planned cakes."""

from django import template

from planning.web.cakes.cake_words import due_time_words, size_of

register = template.Library()
register.filter("due_time_words", due_time_words)
register.filter("size_of", size_of)
