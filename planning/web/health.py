"""`/health/`: for a monitor, which needs no sign-in to ask."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from planning.health import OK, health


@login_not_required
@require_safe
def health_page(request: HttpRequest) -> JsonResponse:  # noqa: ARG001 (a view)
    """Say whether the kitchen works: 200 if all is well, else 503."""
    checks = health(timezone.now())
    is_well = all(found == OK for found in checks.values())
    status = {"status": OK if is_well else _("needs a look"), "checks": checks}
    return JsonResponse(status, status=200 if is_well else 503)
