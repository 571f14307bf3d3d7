"""Addresses of the pages."""

from django.urls import include, path, register_converter

from lifecycle.records.crops.codes import LENGTH
from lifecycle.web import health
from lifecycle.web.crops import (
    entries,
    feed,
    identity,
    planting_out,
    plants,
    seeds,
    sowings,
    symptoms,
    varieties,
    why,
)
from lifecycle.web.ground import (
    bed_care,
    bed_holders,
    bed_rules,
    beds,
    inspections,
    site_events,
    site_settings,
    tools,
)
from lifecycle.web.handbook_pages import handbook
from lifecycle.web.messages import (
    calendar_feed,
    inbox,
    push,
    system,
    unsubscribe,
)
from lifecycle.web.nights import (
    asks,
    covers,
    frost,
    frost_night,
    rota,
)
from lifecycle.web.people import (
    account,
    audit,
    first_run,
    garden_settings,
    hand_over_sheet,
    handing,
    home,
    inviting,
    joining,
    leaving,
    membership,
    own_data,
    people,
    settings,
    sign_in,
    sign_in_link,
    waiting,
)
from lifecycle.web.weather import (
    climate,
    forecast,
    overnight,
    rehearsal,
    sensors,
)
from lifecycle.web.work import (
    away,
    chores,
    coordinate,
    offers,
    task_page,
    today,
    week,
    work,
)
from lifecycle.web.year import (
    given_away,
    hours,
    report,
    report_rows,
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
    path("beds/<int:pk>/rules", bed_rules.own_rules, name="bed-own-rules"),
    path("beds/<int:pk>/holders", bed_holders.bed_holders, name="bed-holders"),
    path("sites/<int:pk>/bed-rules", bed_rules.site_rules, name="bed-rules"),
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
    path("plants/<code:code>/hand-over", handing.hand_over_plant, name="hand-over"),
    path("sowings/<code:code>/hand-over", handing.hand_over_sowing, name="hand-over-sowing"),
    path("beds/<int:pk>/hand-over", handing.hand_over_bed, name="bed-hand-over"),
    path("hand-overs", handing.hand_overs, name="hand-overs"),
    path("hand-overs/<int:pk>", handing.hand_over_page, name="hand-over-page"),
    path("hand-over-sheet", hand_over_sheet.hand_over_sheet, name="hand-over-sheet"),
    path("leave", leaving.leave_page, name="leave"),
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
    path("tasks/<int:pk>", task_page.task, name="task"),
    path("offers/<int:pk>", offers.task_offer, name="task-offer"),
    path("chores", chores.chores, name="chores"),
    path("chores/add", chores.add_chore_page, name="add-chore"),
    path("chores/<int:pk>", chores.chore, name="chore"),
    path("away", away.away, name="away"),
    path("tools", tools.tools, name="tools"),
    path("tools/<int:pk>", tools.tool, name="tool"),
    path("inspections", inspections.inspections, name="inspections"),
    path("beds/<int:pk>/inspect", inspections.inspect, name="inspect"),
    path("given-away", given_away.given_away, name="given-away"),
    path("hours", hours.hours, name="hours"),
    path("report", report.report, name="report"),
    path("report/<int:year>", report.report_year, name="report-year"),
    path("report/<int:year>/<slug:figure>", report_rows.report_rows, name="report-rows"),
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
    path("people", people.people, name="people"),
    path("people/<int:pk>", people.person, name="person"),
    path("people/<int:pk>/role", people.person_role, name="person-role"),
    path("people/<int:pk>/out", people.person_out, name="person-out"),
    path("people/invite", inviting.invite_page, name="invite"),
    path("people/invitations/<int:pk>", inviting.invitation, name="invitation"),
    path("people/waiting", waiting.waiting_list, name="waiting-list"),
    path("settings", garden_settings.garden_settings, name="garden-settings"),
    path("audit", audit.audit_page, name="audit"),
    path("me", membership.my_membership, name="my-membership"),
    path("welcome", membership.welcome, name="welcome"),
    path("more", settings.more, name="more"),
    path("coordinate", coordinate.coordinate, name="coordinate"),
    path("week", week.week, name="week"),
    path("week/<int:pk>", week.publication, name="publication"),
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
    path("sign-in/link", sign_in_link.sign_in_link, name="sign-in-link"),
    path("sign-in/l/<int:pk>/<str:code>", sign_in_link.sign_in_by_link, name="sign-in-by-link"),
    path("sign-in/again", account.sign_in_again, name="sign-in-again"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("", home.home, name="home"),
    path("come-back/<int:pk>", leaving.come_back_page, name="come-back"),
    path("settings/erase", leaving.erase_me, name="erase-me"),
    path("settings/keep", leaving.keep_me, name="keep-me"),
    path("settings/export", own_data.export_me, name="export-me"),
    path("p/<str:code>", sign_in.label, name="label"),
    path("a/<int:pk>/<str:code>", asks.ask, name="ask"),
    path("i/<int:pk>/<str:code>", joining.accept_invitation, name="accept-invitation"),
    path("join/<int:pk>/<str:code>", joining.join, name="join"),
    path("u/<int:person>/<slug:kind>/<str:code>", unsubscribe.unsubscribe, name="unsubscribe"),
    path("settings", settings.settings, name="settings"),
    path("settings/password", account.change_password, name="change-password"),
    path("settings/sign-out-everywhere", account.sign_out_everywhere, name="sign-out-everywhere"),
    path("sensor/<int:pk>/<str:code>", sensors.sensor, name="sensor"),
    path("settings/push", push.allow_push, name="allow-push"),
    path("settings/push/stop", push.stop_push, name="stop-push"),
    path("push-worker.js", push.push_worker, name="push-worker"),
    path("manifest.webmanifest", push.manifest, name="manifest"),
    path("settings/calendar", calendar_feed.calendar_address, name="calendar-address"),
    path("calendar/<int:pk>/<str:code>.ics", calendar_feed.calendar, name="calendar"),
    path("g/<slug:slug>/", include(garden)),
]
