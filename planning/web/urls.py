"""The addresses of the planning pages."""

from django.urls import URLPattern, URLResolver

app_name = "planning"
urlpatterns: list[URLPattern | URLResolver] = []
