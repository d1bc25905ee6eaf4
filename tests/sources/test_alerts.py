"""CAP alerts: the examples of the standard, languages, areas, times, updates, and what goes wrong."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sources.alerts_bench import HERE, NOW, PAYLOADS, area, cap, info, read, reference

from wallbill.errors import SourceError
from wallbill.facts.alerts import Alert, Alerts, Certainty, Severity, Urgency, in_order, join_alerts
from wallbill.facts.hazards import Hazard

ALPINE = (38.48, -119.94)

# Source: CAP 1.2, OASIS Standard, 1 July 2010, appendix A.2; the description is left out.
A2 = """<?xml version = "1.0" encoding = "UTF-8"?>
<alert xmlns = "urn:oasis:names:tc:emergency:cap:1.2">
  <identifier>KSTO1055887203</identifier> <sender>KSTO@NWS.NOAA.GOV</sender>
  <sent>2003-06-17T14:57:00-07:00</sent> <status>Actual</status> <msgType>Alert</msgType> <scope>Public</scope>
  <info>
    <category>Met</category> <event>SEVERE THUNDERSTORM</event> <responseType>Shelter</responseType>
    <urgency>Immediate</urgency> <severity>Severe</severity> <certainty>Observed</certainty>
    <eventCode><valueName>SAME</valueName><value>SVR</value></eventCode>
    <expires>2003-06-17T16:00:00-07:00</expires>
    <senderName>NATIONAL WEATHER SERVICE SACRAMENTO CA</senderName>
    <headline>SEVERE THUNDERSTORM WARNING</headline>
    <instruction>TAKE COVER IN A SUBSTANTIAL SHELTER UNTIL THE STORM PASSES.</instruction>
    <area>
      <areaDesc>SOUTHWESTERN ALPINE COUNTY IN CALIFORNIA</areaDesc>
      <polygon>38.47,-120.14 38.34,-119.95 38.52,-119.74 38.62,-119.89 38.47,-120.14</polygon>
      <geocode><valueName>SAME</valueName><value>006109</value></geocode>
      <geocode><valueName>SAME</valueName><value>006003</value></geocode>
    </area>
  </info>
</alert>"""
STORM = datetime(2003, 6, 17, 22, 0, tzinfo=UTC)

# Source: CAP 1.2, appendix A.3, shortened.
A3 = """<alert xmlns="urn:oasis:names:tc:emergency:cap:1.2">
  <identifier>TRI13970876.2</identifier> <sender>trinet@caltech.edu</sender>
  <sent>2003-06-11T20:56:00-07:00</sent> <status>Actual</status> <msgType>Update</msgType> <scope>Public</scope>
  <references>trinet@caltech.edu,TRI13970876.1,2003-06-11T20:30:00-07:00</references>
  <info>
    <category>Geo</category> <event>Earthquake</event>
    <urgency>Past</urgency> <severity>Minor</severity> <certainty>Observed</certainty>
    <area><areaDesc>1 mi. WSW of Brawley, CA</areaDesc><circle>32.9525,-115.5527 0</circle></area>
  </info>
</alert>"""

# Source: CAP 1.2, appendix A.4, shortened.
A4 = """<alert xmlns="urn:oasis:names:tc:emergency:cap:1.2">
  <identifier>KAR0-0306112239-SW</identifier> <sender>KARO@CLETS.DOJ.CA.GOV</sender>
  <sent>2003-06-11T22:39:00-07:00</sent> <status>Actual</status> <msgType>Alert</msgType> <scope>Public</scope>
  <info><language>en-US</language><category>Rescue</category><event>Child Abduction</event>
    <urgency>Immediate</urgency><severity>Severe</severity><certainty>Likely</certainty>
    <area><areaDesc>Los Angeles County</areaDesc>
      <geocode><valueName>SAME</valueName><value>006037</value></geocode></area></info>
  <info><language>es-US</language><category>Rescue</category><event>Abducción de Niño</event>
    <urgency>Immediate</urgency><severity>Severe</severity><certainty>Likely</certainty>
    <area><areaDesc>condado de Los Ángeles</areaDesc>
      <geocode><valueName>SAME</valueName><value>006037</value></geocode></area></info>
</alert>"""


def test_the_thunderstorm_of_the_standard() -> None:
    alerts = read(A2, place=ALPINE, now=STORM)
    assert len(alerts.active) == 1
    alert = alerts.active[0]
    assert (alert.identifier, alert.event) == ("KSTO1055887203", "SEVERE THUNDERSTORM")
    assert alert.sent == datetime(2003, 6, 17, 21, 57, tzinfo=UTC)
    assert (alert.severity, alert.urgency, alert.certainty) == (
        Severity.SEVERE,
        Urgency.IMMEDIATE,
        Certainty.OBSERVED,
    )
    # CAP 1.2, 3.2.2: where there is no effective, the message holds from when it was sent.
    assert (alert.effective, alert.onset, alert.begins) == (alert.sent, None, alert.sent)
    assert alert.ends == datetime(2003, 6, 17, 23, 0, tzinfo=UTC)
    assert alert.language == "en-US"
    assert alert.codes == (("SAME", "006109"), ("SAME", "006003"))
    assert (alert.here, alert.responses, alert.categories) == (True, ("Shelter",), ("Met",))
    assert alerts.origin.credit == "NATIONAL WEATHER SERVICE SACRAMENTO CA"
    assert alerts.worst is alert
    assert alert.under_way(STORM)
    assert not alerts.origin.findings


def test_the_thunderstorm_is_not_everywhere_and_not_for_ever() -> None:
    assert not read(A2, place=(38.36, -120.10), now=STORM)
    assert not read(A2, place=ALPINE, now=STORM + timedelta(hours=1))
    # 38.36, -120.10 lies 7 km off the line from 38.47,-120.14 to 38.34,-119.95 (worked out on a plane).
    assert read(A2, place=(38.36, -120.10), now=STORM, within="8 km")
    assert not read(A2, place=(38.36, -120.10), now=STORM, within="4 km")
    assert read(A2, place=(38.36, -120.10), now=STORM, areas=["SAME=006003"])


def test_the_earthquake_of_the_standard() -> None:
    quake = datetime(2003, 6, 12, 4, 0, tzinfo=UTC)
    alerts = read(A3, place=(32.9525, -115.5527), now=quake)
    assert [alert.event for alert in alerts.active] == ["Earthquake"]
    assert alerts.withdrawn == (("trinet@caltech.edu", "TRI13970876.1"),)
    assert alerts.active[0].ends == alerts.active[0].sent + timedelta(days=1)
    assert not read(A3, place=(33.0, -115.5527), now=quake)
    assert read(A3, place=(33.0, -115.5527), now=quake, within="6 km")


@pytest.mark.parametrize(
    ("language", "event"),
    [
        ("es-US", "Abducción de Niño"),
        ("es", "Abducción de Niño"),
        ("es-ES", "Abducción de Niño"),
        ("en-GB", "Child Abduction"),
        ("de", "Child Abduction"),
    ],
)
def test_the_two_languages_of_the_standard(language: str, event: str) -> None:
    alerts = read(A4, now=datetime(2003, 6, 12, 6, 0, tzinfo=UTC), language=language)
    assert [alert.event for alert in alerts.active] == [event]
    assert alerts.active[0].here is None
    assert [finding.rule for finding in alerts.origin.findings] == ["sources.alert-place"]
    assert "SAME=006037" in alerts.origin.findings[0].what


def test_a_language_that_nobody_reads_is_better_than_none_and_parts_of_one_stay_together() -> None:
    two = info(event="Kuling", language="da-DK") + info(event="Regn", language="da-DK")
    alerts = read(cap(two, info(event="Kova tuuli", language="fi-FI")))
    assert [alert.event for alert in alerts.active] == ["Kuling", "Regn"]
    unsaid = read(cap(info(event="Gale"), info(event="Sturm", language="de-DE")))
    assert [alert.event for alert in unsaid.active] == ["Gale"]


def test_an_update_in_two_languages() -> None:
    data = (PAYLOADS / "cap-alert.xml").read_bytes()
    alerts = read(data, place=(55.4321, 10.1234))
    alert = alerts.active[0]
    assert (alert.event, alert.areas) == ("Gale", ("Lindhaven and the outer islands",))
    assert alert.onset == datetime(2026, 3, 14, 14, 0, tzinfo=UTC)
    assert not alert.under_way(NOW)
    assert alert.under_way(datetime(2026, 3, 14, 14, 0, tzinfo=UTC))
    danish = read(data, place=(55.4321, 10.1234), language="da")
    assert (danish.active[0].event, danish.active[0].headline) == ("Kuling", "Kuling fra sydvest i aften")
    assert danish.active[0].ends == danish.active[0].sent + timedelta(days=1)
    assert not read(data)


SQUARE = "<polygon>50,-5 50,-4 51,-4 51,-5 50,-5</polygon>"
FAR = "<polygon>60,-5 60,-4 61,-4 61,-5 60,-5</polygon>"
CODE = "<geocode><valueName>NUTS3</valueName><value>{}</value></geocode>"


def test_areas_add_up() -> None:
    # Source: MET Norway's note on several areas and polygons per info; CAP 1.2, 3.2.4: an area is the union of its parts.
    several = area("North", FAR) + area("Sound", FAR + SQUARE) + area("Bay", "<circle>50.3,-4.0 12</circle>")
    alert = read(cap(info(areas=several))).active[0]
    assert alert.areas == ("Sound", "Bay")
    assert not read(cap(info(areas=area("North", FAR))))
    assert read(cap(info(areas=area("Coded", CODE.format("UKK30")))), areas=["UKK30"])
    assert read(cap(info(areas=area("Coded", CODE.format("UKK30 UKK41")))), areas=["NUTS3=UKK41"])
    assert not read(cap(info(areas=area("Coded", CODE.format("UKK30")))), areas=["UKK31"])
    assert read(cap(info())).active[0].here is True  # no area at all: nobody is outside


@pytest.mark.parametrize(
    ("kind", "status", "words", "shown"),
    [
        ("Alert", "Actual", {}, True),
        ("Update", "Actual", {}, True),
        ("Cancel", "Actual", {}, False),
        ("Ack", "Actual", {}, False),
        ("Error", "Actual", {}, False),
        ("Alert", "Test", {}, False),
        ("Alert", "Exercise", {}, False),
        ("Alert", "Draft", {}, False),
        ("Alert", "System", {}, False),
        ("Alert", "Actual", {"responseType": "AllClear"}, False),
        ("Alert", "Actual", {"responseType": "Prepare"}, True),
        ("Alert", "Actual", {"expires": "2026-03-14T07:45:00+00:00"}, False),
        ("Alert", "Actual", {"expires": "2026-03-14T07:45:01-00:00"}, True),
        ("Alert", "Actual", {"expires": "2026-03-14T09:00:00+02:00"}, False),
        ("Alert", "Actual", {"onset": "2026-03-15T01:00:00+00:00"}, True),
    ],
)
def test_what_is_shown(kind: str, status: str, words: dict[str, str], shown: bool) -> None:  # noqa: FBT001 a column of the table
    alerts = read(cap(info(**words), kind=kind, status=status))
    assert bool(alerts) is shown
    assert (alerts.worst is not None) is shown


def test_green_is_no_warning() -> None:
    level = "<parameter><valueName>awareness_level</valueName><value>{}</value></parameter>"
    assert not read(cap(info(level.format("1; green; Minor"))))
    assert read(cap(info(level.format("2; yellow; Moderate"))))


def test_the_family_of_a_warning() -> None:
    kind = "<parameter><valueName>awareness_type</valueName><value>9;  avalanches</value></parameter>"
    worst = read(cap(info(kind))).worst
    assert worst is not None
    assert (worst.awareness_type, worst.hazard) == ("9; avalanches", Hazard.AVALANCHE)


def feed(*alerts: str) -> str:
    inner = "".join(f"<entry><content>{a.partition('?>')[2]}</content></entry>" for a in alerts)
    return f'<feed xmlns="http://www.w3.org/2005/Atom">{inner}</feed>'


def test_chains_of_updates_and_cancels() -> None:
    first = cap(info(event="One"), number="1")
    second = cap(info(event="Two"), number="2", kind="Update", references=reference("1"))
    third = cap(
        info(event="Three"), number="3", kind="Update", references=f"{reference('1')}\n {reference('2')}"
    )
    cancel = cap(number="4", kind="Cancel", references=reference("3"))
    assert [a.event for a in read(feed(first)).active] == ["One"]
    assert [a.event for a in read(feed(second, first)).active] == ["Two"]
    assert [a.event for a in read(feed(first, second, third)).active] == ["Three"]
    assert not read(feed(first, second, third, cancel))
    # An update that is over still withdraws what it replaced, and one that is a test withdraws nothing.
    over = cap(
        info(expires="2026-03-14T06:00:00+00:00"), number="2", kind="Update", references=reference("1")
    )
    assert not read(feed(first, over))
    test = cap(number="2", kind="Cancel", status="Test", references=reference("1"))
    assert [a.event for a in read(feed(first, test)).active] == ["One"]
    # The same message twice: the later counts.
    again = cap(info(event="One, mended"), number="1", sent="2026-03-14T06:00:00+00:00")
    assert [a.event for a in read(feed(again, first)).active] == ["One, mended"]


def test_chains_over_several_payloads() -> None:
    first = read(cap(info(event="One"), number="1"))
    second = read(cap(info(event="Two"), number="2", kind="Update", references=reference("1")))
    cancel = read(cap(number="3", kind="Cancel", references=reference("2")))
    index = read('<feed xmlns="http://www.w3.org/2005/Atom"/>', now=NOW + timedelta(minutes=5))
    both = join_alerts([index, first, second])
    assert [alert.event for alert in both.active] == ["Two"]
    assert both.origin.fetched_at == NOW + timedelta(minutes=5)
    assert not join_alerts([index, cancel, second, first])
    assert join_alerts([index, first, first]).active == first.active


def test_the_gravest_comes_first() -> None:
    alerts = read(
        feed(
            cap(info(event="a", severity="Minor", urgency="Immediate"), number="1"),
            cap(info(event="b", severity="Extreme", urgency="Future"), number="2"),
            cap(info(event="c", severity="Extreme", urgency="Immediate", certainty="Possible"), number="3"),
            cap(info(event="d", severity="Extreme", urgency="Immediate", certainty="Observed"), number="4"),
            cap(info(event="e", severity="Dreadful"), number="5"),
            cap(info(event="f", severity="moderate", certainty="Very Likely"), number="6"),
        )
    )
    assert [alert.event for alert in alerts.active] == ["d", "c", "b", "f", "a", "e"]
    assert alerts.active[3].certainty is Certainty.LIKELY
    assert [alert.event for alert in alerts.at_least("moderate")] == ["d", "c", "b", "f"]
    with pytest.raises(ValueError, match="dreadful"):
        alerts.at_least("dreadful")


def test_texts_are_set_in_paragraphs() -> None:
    told = info(
        "<description>  Gusts to\n 24 m/s\talong &amp; off\n\n\nthe sound.\n</description>",
        headline="A\n gale",
    )
    alert = read(cap(told)).active[0]
    assert alert.description == "Gusts to 24 m/s along & off\n\nthe sound."
    assert alert.headline == "A gale"
    cdata = read(cap(info("<instruction><![CDATA[Stay <in>.]]><!-- no --></instruction>"))).active[0]
    assert cdata.instruction == "Stay <in>."


def test_broken_parts_never_lose_an_alert() -> None:
    shapes = "<polygon>50,-5 51</polygon><polygon>50,-5 999,-5 51,-5</polygon><circle>50,-4</circle><circle>1,2 -3</circle>"
    words = {"effective": "2026-03-14T05:40:00", "onset": "soon", "expires": "2026-03-14 25:00"}
    alerts = read(cap(info(areas=area("Sound", shapes + SQUARE), **words), sent="yesterday"))
    alert = alerts.active[0]
    assert alert.sent == NOW
    assert (alert.effective, alert.onset, alert.ends) == (NOW, None, NOW + timedelta(days=1))
    fields = [finding.where.field for finding in alerts.origin.findings]
    assert fields == [
        "sent",
        "alert",
        "effective",
        "onset",
        "expires",
        "polygon",
        "polygon",
        "circle",
        "circle",
    ]
    assert all(finding.where.line for finding in alerts.origin.findings)
    late = read(cap(info(expires="9999-12-31T23:59:59+00:00")))
    assert late.active[0].ends.year == 9999
    assert not read(cap(info(expires="0001-01-01T00:00:00+14:00"), sent="2026-03-10T00:00:00+00:00"))


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "empty"),
        (b"   \n", "empty"),
        (b"<alert", "cannot be read"),
        (b"no XML", "cannot be read"),
        (b"<html><body>Log in</body></html>", "no alert: its root is <html>"),
        (b"<alert xmlns='urn:example'/>", "no alert"),
        (b'<?xml version="1.0"?>\n<!DOCTYPE a [<!ENTITY b "c">]>\n<a>&b;</a>', "document type"),
        ('<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>'.encode("utf-16"), "document type"),
        (b'<?xml version="1.0" encoding="utf-99"?><a/>', "not written in utf-99"),
        (b"\xff\xfe\x00", "not written in utf-16"),
        (b"<a>\xff</a>", "not written in utf-8"),
        (b"<alert>&b;</alert>", "cannot be read"),
        (b"<a>" * 100_000, "cannot be read"),
    ],
)
def test_no_alert(data: bytes, what: str) -> None:
    with pytest.raises(SourceError, match=what) as caught:
        read(data)
    assert caught.value.mend
    assert caught.value.where.file == "warnings"


def test_an_entity_bomb_is_refused_unread() -> None:
    bomb = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    with pytest.raises(SourceError, match="document type"):
        read(f'<!DOCTYPE alert [<!ENTITY a0 "ha">{bomb}]><alert>&a11;</alert>')


def test_other_encodings_and_editions() -> None:
    text = cap(info(event="Böen")).replace("UTF-8", "ISO-8859-1")
    assert read(text.encode("latin-1")).active[0].event == "Böen"
    older = cap(info(event="Gale")).replace("cap:1.2", "cap:1.1")
    assert read(older).active[0].event == "Gale"
    enveloped = cap(info()).replace("<alert ", "<e:env xmlns:e='urn:e'><alert ") + "</e:env>"
    assert read(enveloped).active


@pytest.mark.parametrize("within", ["ten km", "10", "-1 km", "600 km", "", 10])
def test_a_distance_must_be_one(within: object) -> None:
    with pytest.raises(SourceError, match="no distance"):
        read(A2, within=within)


def test_alerts_are_fresh_as_long_as_they_were_asked_for_lately() -> None:
    assert read(cap(info(), sent="2026-03-01T00:00:00+00:00")).origin.dated == NOW


ROWS = st.lists(st.tuples(st.sampled_from(Severity), st.integers(0, 9)), max_size=8)


@given(ROWS.flatmap(lambda rows: st.tuples(st.just(rows), st.permutations(rows))))
def test_an_order_that_does_not_depend_on_the_payload(
    rows: tuple[list[tuple[Severity, int]], list[tuple[Severity, int]]],
) -> None:
    first, second = (
        in_order(tuple(replace(_plain(), severity=s, identifier=str(n)) for s, n in side)) for side in rows
    )
    assert first == second
    gravities = [alert.gravity for alert in first]
    assert gravities == sorted(gravities, reverse=True)


def _plain() -> Alert:
    return read(cap(info())).active[0]


VALID = (A2.encode(), A3.encode(), A4.encode(), (PAYLOADS / "cap-alert.xml").read_bytes(), feed(A2).encode())


@given(
    st.sampled_from(VALID),
    st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 255)), max_size=10),
    st.integers(0, 4000),
    st.sampled_from([HERE, ALPINE, (90.0, 0.0), (-90.0, 180.0)]),
)
def test_mutated_alerts_give_alerts_or_a_source_error(
    valid: bytes, changes: list[tuple[int, int]], cut: int, place: tuple[float, float]
) -> None:
    raw = bytearray(valid)
    for at, value in changes:
        raw[at % len(raw)] = value
    data = bytes(raw if cut > len(raw) else raw[:cut]) if cut % 3 == 0 else bytes(raw)
    try:
        alerts = read(data, place=place, now=STORM, within="5 km")
    except SourceError:
        return
    assert isinstance(alerts, Alerts)
    assert all(alert.ends > STORM and alert.here is not False for alert in alerts.active)
