"""Every address of the site: signing in, then each app's own pages."""

from django.contrib.auth import views as auth
from django.urls import include, path

from stock.signing_in.page import SignInView
from stock.web.counts.devices import sign_out

handler500 = "stock.web.request.traces.server_error"

urlpatterns = [
    path("sign-in/", SignInView.as_view(), name="login"),
    path("sign-out/", sign_out, name="logout"),
    path("password/", auth.PasswordChangeView.as_view(), name="password_change"),
    path(
        "password/changed/",
        auth.PasswordChangeDoneView.as_view(),
        name="password_change_done",
    ),
    path("", include("stock.web.urls")),
    path("", include("planning.web.urls")),
]
