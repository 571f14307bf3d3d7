"""Addresses of the whole site."""

from django.urls import include, path

urlpatterns = [path("", include("lifecycle.web.urls"))]
