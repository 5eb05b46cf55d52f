"""What is answered to a text with a null character in it, which no database keeps.

Nobody types one; a broken paste, a scanner or a hostile script sends one.
"""

from collections.abc import Callable, Iterator

from django.http import HttpRequest, HttpResponse, JsonResponse, UnreadablePostError
from django.template import loader
from django.utils.translation import gettext_lazy

NULL = "\0"
SENTENCE = gettext_lazy(
    "What was sent holds a null character, which can't be saved. Remove it, or type "
    "the text anew, then try again. Nothing was saved."
)


class NullCharacterMiddleware:
    """Refuse an address, a cookie or a form with a null character in it.

    The body of a script's own message is left to what reads it.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request, or say what is wrong with it."""
        if any(NULL in text for text in _texts(request)):
            return _refusal(request)
        return self.get_response(request)


def _texts(request: HttpRequest) -> Iterator[str]:
    """Return the names and values that a request says, those of a form last."""
    yield request.path_info
    for name, value in request.COOKIES.items():
        yield from (name, value)
    for name, values in request.GET.lists():
        yield from (name, *values)
    try:
        posted = request.POST
    except UnreadablePostError:  # cut off on its way: what needs it says so
        return
    for name, values in posted.lists():
        yield from (name, *values)
    for name, files in request.FILES.lists():
        yield from (name, *(each.name or "" for each in files))


def _refusal(request: HttpRequest) -> HttpResponse:
    if request.content_type == "application/json":
        return JsonResponse({"sentence": SENTENCE}, status=400)
    page = loader.get_template("400.html").render({"sentence": SENTENCE})
    return HttpResponse(page, status=400)
