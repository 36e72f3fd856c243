"""Addresses of time: quote desk, calendar, floor, jobs, reminders."""

from __future__ import annotations

from django.urls import URLPattern, path

from scheduling.web import (
    absences,
    calendar,
    dragging,
    feeds,
    floor,
    jobs,
    moves,
    opt_out,
    payments,
    plans,
    reminders,
    start,
    visit_page,
    wordings,
)
from scheduling.web.desk import desk
from scheduling.web.if_moved import desk_if_moved, quote_if_moved
from scheduling.web.job_photos import job_photos
from scheduling.web.kept import desk_kept
from scheduling.web.promises import promises
from scheduling.web.visits import quote_visit

urlpatterns: list[URLPattern] = [
    path("desk/", desk, name="desk"),
    path("start/", start.start, name="start"),
    path("start/shop/<str:key>/", start.first_shop, name="first_shop"),
    path("start/<slug:step>/", start.start_step, name="start_step"),
    path("desk/kept/<int:pk>/", desk_kept, name="desk_kept"),
    path("quotes/<int:quote_id>/visit/", quote_visit, name="quote_visit"),
    path("desk/if-moved/", desk_if_moved, name="desk_if_moved"),
    path("quotes/<int:quote_id>/if-moved/", quote_if_moved, name="quote_if_moved"),
    path("calendar/", calendar.calendar, name="calendar"),
    path("calendar/live/", calendar.calendar_live, name="calendar_live"),
    path("calendar/jobs/<int:pk>/fit/", dragging.visit_fit, name="visit_fit"),
    path("calendar/jobs/<int:pk>/put/", dragging.visit_move, name="visit_put"),
    path("calendar/back/", dragging.visit_return, name="visit_back"),
    path("calendar/absences/", absences.absence, name="absence_add"),
    path("calendar/absences/<int:pk>/over/", absences.absence_over, name="absence_end"),
    path("calendar/plans/", plans.plan_ask, name="plan_ask"),
    path("calendar/plans/<int:pk>/", plans.plan, name="plan"),
    path("calendar/plans/<int:pk>/stop/", plans.plan_stop, name="plan_stop"),
    path("calendar/plans/<int:pk>/accept/", plans.plan_accept, name="plan_accept"),
    path("calendar/plans/<int:pk>/leave/", plans.plan_leave, name="plan_leave"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/check-in/", jobs.check_in, name="job_check_in"),
    path("jobs/<int:pk>/hand-over/", jobs.hand_over, name="job_hand_over"),
    path("jobs/<int:pk>/close/", jobs.close, name="job_close"),
    path("jobs/<int:pk>/no-show/", jobs.no_show, name="job_no_show"),
    path("jobs/<int:pk>/move/", moves.move, name="job_move"),
    path("jobs/<int:pk>/cancel/", jobs.cancel, name="job_cancel"),
    path("jobs/<int:pk>/materials/", jobs.material, name="job_material"),
    path("jobs/<int:pk>/photos/", job_photos, name="job_photos"),
    path("feeds/", feeds.feeds, name="feeds"),
    path("feeds/resources/<int:pk>/", feeds.feed_open, name="feed_open"),
    path("feeds/resources/<int:pk>/withdraw/", feeds.feed_withdraw, name="feed_withdraw"),
    path("feeds/<str:token>.ics", feeds.feed, name="feed"),
    path("jobs/<int:pk>/feed/", feeds.visit_feed, name="visit_feed"),
    path("floor/", floor.floor, name="floor"),
    path("floor/jobs/<int:pk>/check-in/", floor.check_in, name="floor_check_in"),
    path("floor/work/<int:pk>/materials/take/", floor.take, name="floor_take"),
    path("floor/work/<int:pk>/<str:step>/", floor.work, name="floor_work"),
    path("floor/bays/<int:pk>/climate/", floor.climate, name="floor_climate"),
    path("promises/", promises, name="promises"),
    path("reminders/", reminders.reminders, name="reminders"),
    path("reminders/wording/", wordings.wordings, name="wordings"),
    path("reminders/wording/<slug:purpose>/<slug:channel>/", wordings.wording, name="wording"),
    path("stop/<str:token>/", opt_out.opt_out_page, name="opt_out"),
    path("v/<str:token>/", visit_page.visit_page, name="visit_page"),
    path("v/<str:token>/choice/", visit_page.visit_choice, name="visit_choice"),
    path("v/<str:token>/accept/", visit_page.visit_yes, name="visit_yes"),
    path("v/<str:token>/decline/", visit_page.visit_no, name="visit_no"),
    path("v/<str:token>/messages/", visit_page.visit_messages, name="visit_messages"),
    path("v/<str:token>/time/", visit_page.visit_time, name="visit_time"),
    path("v/<str:token>/visit.ics", visit_page.visit_calendar, name="visit_calendar"),
    path("jobs/<int:pk>/payment/", payments.payment, name="job_payment"),
    path("reminders/<int:pk>/", reminders.preview, name="reminder_preview"),
    path("reminders/<int:pk>/send/", reminders.send, name="reminder_send"),
    path("reminders/<int:pk>/stop/", reminders.stop, name="reminder_stop"),
]
