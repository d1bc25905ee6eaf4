"""The example wall's invented warning and station report."""

from datetime import UTC, datetime
from pathlib import Path

from tests.sources import alerts_bench
from tests.sources.test_metar import read

from wallbill.facts.alerts import Severity
from wallbill.facts.pressure import Tendency
from wallbill.units.quantity import Quantity

PAYLOADS = Path(__file__).parents[2] / "examples" / "fennel-quay" / "payloads"


def test_the_gale_is_for_the_quay() -> None:
    data = (PAYLOADS / "gale.cap.xml").read_bytes()
    alerts = alerts_bench.read(data)
    worst = alerts.worst
    assert worst is not None
    assert (worst.event, worst.severity, worst.here) == ("Gale", Severity.MODERATE, True)
    assert worst.areas == ("Fennel Sound and the Quay",)
    assert not worst.under_way(alerts_bench.NOW)
    assert worst.under_way(datetime(2026, 3, 14, 18, 0, tzinfo=UTC))
    assert not alerts.origin.findings
    assert alerts_bench.read(data, language="fr").active[0].event == "Coup de vent"
    assert not alerts_bench.read(data, place=(51.0, -4.05))


def test_the_field_reports_a_falling_glass() -> None:
    seen = read((PAYLOADS / "field.metar.txt").read_bytes(), "ZZFQ", now=alerts_bench.NOW)
    assert seen.valid_from == datetime(2026, 3, 14, 6, 50, tzinfo=UTC)
    assert seen.pressure_change == Quantity(-3.0, "hPa")
    assert seen.tendency is Tendency.FALLING
    assert seen.beaufort == 4
    assert not seen.origin.findings
