"""Addresses of findings and offers."""

from __future__ import annotations

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
