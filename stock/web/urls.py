"""The addresses of the stock pages."""

from django.urls import URLPattern, URLResolver

app_name = "stock"
urlpatterns: list[URLPattern | URLResolver] = []
