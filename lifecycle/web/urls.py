"""Addresses of the pages."""

from django.urls import include, path, register_converter

from lifecycle.records.codes import LENGTH
from lifecycle.web import (
    asks,
    bed_care,
    beds,
    calendar_feed,
    climate,
    coordinate,
    covers,
    entries,
    feed,
    first_run,
    forecast,
    frost,
    frost_night,
    handbook,
    health,
    identity,
    inbox,
    overnight,
    planting_out,
    plants,
    push,
    rehearsal,
    rota,
    seeds,
    sensors,
    settings,
    sign_in,
    site_events,
    site_settings,
    sowings,
    symptoms,
    system,
    today,
    unsubscribe,
    varieties,
    why,
    work,
)


class CodeConverter:
    """A label code in either case."""

    regex = f"[A-Za-z0-9]{{{LENGTH}}}"

    def to_python(self, value: str) -> str:
        """Return the code as it is kept."""
        return value.upper()

    def to_url(self, value: str) -> str:
        """Return the code as it is kept."""
        return value


register_converter(CodeConverter, "code")

garden = [
    path("", today.today, name="today"),
    path("beds", beds.beds, name="beds"),
    path("beds/<int:pk>", beds.bed, name="bed"),
    path("beds/<int:pk>/log/<slug:kind>", beds.log_several, name="log-several"),
    path("beds/<int:pk>/ground", bed_care.ground, name="bed-ground"),
    path("beds/<int:pk>/years", bed_care.years, name="bed-years"),
    path("beds/<int:pk>/feed", feed.feed_bed, name="feed-bed"),
    path("places/add", beds.add_place_page, name="add-place"),
    path("sites/add", beds.add_site_page, name="add-site"),
    path("plants", plants.plants, name="plants"),
    path("plants/add", plants.take_over, name="take-over"),
    path("plants/<code:code>", plants.plant, name="plant"),
    path(
        "plants/<code:code>/why/<slug:kind>/<int:year>/<int:number>",
        why.why_plant,
        name="why-plant",
    ),
    path("plants/<code:code>/log", plants.log_choice, name="log-choice"),
    path("plants/<code:code>/log/<slug:kind>", entries.log_plant, name="log-plant"),
    path("plants/<code:code>/feed", feed.feed_plant, name="feed-plant"),
    path("plants/<code:code>/move", entries.move, name="move"),
    path("plants/<code:code>/split", plants.split, name="split"),
    path("plants/<code:code>/cuttings", plants.cuttings, name="cuttings"),
    path("plants/<code:code>/seed", plants.seed, name="seed"),
    path("plants/<code:code>/identity", identity.identity, name="identity"),
    path("plants/<code:code>/identity/doubt", identity.doubt_page, name="doubt"),
    path("plants/<code:code>/identity/settle", identity.settle_page, name="settle"),
    path(
        "plants/<code:code>/identity/<int:pk>/take-back", identity.take_back_page, name="take-back"
    ),
    path("plants/<code:code>/hand-over", plants.hand_over_page, name="hand-over"),
    path("sow", sowings.sow_page, name="sow"),
    path("sowings/<code:code>", sowings.sowing, name="sowing"),
    path(
        "sowings/<code:code>/why/<slug:kind>/<int:year>/<int:number>",
        why.why_sowing,
        name="why-sowing",
    ),
    path("sowings/<code:code>/log/<slug:kind>", entries.log_sowing, name="log-sowing"),
    path("sowings/<code:code>/pot-up", sowings.pot_up_page, name="pot-up"),
    path("entries/<int:pk>", entries.entry, name="entry"),
    path("seeds", seeds.seeds, name="seeds"),
    path("seeds/add", seeds.add_lot_page, name="add-lot"),
    path("seeds/<int:pk>/test", seeds.test_lot_page, name="test-lot"),
    path("tasks", work.tasks, name="tasks"),
    path("tasks/<int:pk>", work.task, name="task"),
    path("inbox", inbox.inbox, name="inbox"),
    path("inbox/<int:pk>", inbox.message, name="message"),
    path("sites/<int:pk>/reading", bed_care.reading, name="reading"),
    path("sites/<int:pk>/climate", climate.climate, name="climate"),
    path("sites/<int:pk>/planting-out", planting_out.planting_out, name="planting-out"),
    path("sites/<int:pk>/forecast", forecast.forecast, name="forecast"),
    path("sites/<int:pk>/overnight-low", overnight.overnight_low_page, name="overnight-low"),
    path("sites/<int:pk>/rehearsal", rehearsal.rehearsal, name="rehearsal"),
    path("sites/<int:pk>/events", site_events.site_events, name="site-events"),
    path("sites/<int:pk>/events/<int:event>", site_events.site_event, name="site-event"),
    path("sites/<int:pk>/settings", site_settings.site_settings, name="site-settings"),
    path("sites/<int:pk>/covers", covers.covers, name="covers"),
    path("sites/<int:pk>/covers/<int:cover>", covers.cover, name="cover"),
    path("frost", frost.frost, name="frost"),
    path("frost/<int:site>/<str:night>", frost_night.frost_night, name="frost-night"),
    path("varieties", varieties.varieties, name="varieties"),
    path("varieties/add", varieties.add_variety_page, name="add-variety"),
    path("varieties/<int:pk>", varieties.variety, name="variety"),
    path("sources", handbook.sources, name="sources"),
    path("sources/<slug:topic>", handbook.sources_topic, name="sources-topic"),
    path("symptoms", symptoms.symptoms, name="symptoms"),
    path("symptoms/<slug:key>", symptoms.symptom, name="symptom"),
    path("more", settings.more, name="more"),
    path("coordinate", coordinate.coordinate, name="coordinate"),
    path("system", system.system, name="system"),
    path("rota", rota.rota, name="rota"),
    path("rota/<int:pk>", rota.turn, name="rota-turn"),
    path("asks/<int:pk>/rota", asks.frost_ask, name="frost-ask"),
    path("asks/<int:pk>/volunteer", asks.frost_volunteer, name="frost-volunteer"),
    path("asks/<int:pk>/answer", asks.frost_answer, name="frost-answer"),
]

urlpatterns = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("first-run", first_run.first_run, name="first-run"),
    path("sign-in", sign_in.SignIn.as_view(), name="sign-in"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("", sign_in.home, name="home"),
    path("p/<str:code>", sign_in.label, name="label"),
    path("a/<int:pk>/<str:code>", asks.ask, name="ask"),
    path("u/<int:person>/<slug:kind>/<str:code>", unsubscribe.unsubscribe, name="unsubscribe"),
    path("settings", settings.settings, name="settings"),
    path("sensor/<int:pk>/<str:code>", sensors.sensor, name="sensor"),
    path("settings/push", push.allow_push, name="allow-push"),
    path("settings/push/stop", push.stop_push, name="stop-push"),
    path("push-worker.js", push.push_worker, name="push-worker"),
    path("manifest.webmanifest", push.manifest, name="manifest"),
    path("settings/calendar", calendar_feed.calendar_address, name="calendar-address"),
    path("calendar/<int:pk>/<str:code>.ics", calendar_feed.calendar, name="calendar"),
    path("g/<slug:slug>/", include(garden)),
]
