"""What the base page needs beyond Django's own tags: its menu and its heading."""

from django import template
from django.template import Context
from django.template.loader_tags import BLOCK_CONTEXT_KEY
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag(takes_context=True)
def menu_link(context: Context, url_name: str, label: str) -> SafeString:
    """Return one line of the menu; the page in view, or the one above it, is marked.

    A page that this site does not wire has no line.
    """
    try:
        url = reverse(url_name)
    except NoReverseMatch:
        return SafeString("")
    path = getattr(context.get("request"), "path", "")
    return format_html('<li><a href="{}"{}>{}</a></li>', url, _mark(url, path), label)


@register.simple_tag(takes_context=True)
def block_again(context: Context, name: str) -> SafeString:
    """Return what a block holds, so that a page says its name once.

    Django renders a block in one place only; the tab and the heading both need it.
    """
    block_context = context.render_context.get(BLOCK_CONTEXT_KEY)
    block = block_context.get_block(name) if block_context else None
    if block is None:
        return SafeString("")
    return SafeString(block.nodelist.render(context).strip())  # escaped as it rendered


def _mark(url: str, path: str) -> SafeString:
    if path == url:
        return SafeString(' aria-current="page"')
    is_above = url.count("/") > 1 and path.startswith(url)
    return SafeString(' aria-current="true"' if is_above else "")
