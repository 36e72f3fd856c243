"""Addresses of time: quote desk, calendar, floor, jobs, reminders."""

from __future__ import annotations

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
