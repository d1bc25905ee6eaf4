"""Values and rows of readings out of JSON, picked by JMESPath.

With ``values`` alone each pick gives one value of the whole payload, and the fact is `Values`. With ``rows``, which picks
a list, each pick gives a value of every row, and the fact is a series for each value.
"""

from collections.abc import Sequence
from dataclasses import replace

from wallbill.errors import SourceError
from wallbill.facts.series import Series
from wallbill.facts.values import Values
from wallbill.sources.datum import DoubtError
from wallbill.sources.moments import Moments, moments_of
from wallbill.sources.payload import read_json
from wallbill.sources.picking import Pick, pick_of
from wallbill.sources.saying import Saying
from wallbill.sources.spec import ParseContext
from wallbill.sources.value_facts import rows_fact, values_fact
from wallbill.sources.value_options import Sought, sought


def parse(data: bytes, context: ParseContext) -> Values | Series | tuple[Series, ...]:
    """A JSON payload as the wall's values, or as series where it picks rows.

    A value that is not there or cannot be read is a gap with a finding. Raises `SourceError` for what is no JSON, where
    none of the values can be read, and where most of the rows cannot.
    """
    spec = context.spec
    say = Saying(spec.options, spec.where)
    moments = moments_of(say, context.zone)
    wanted = sought(spec.options, spec.where, table="values", keys=("pick",), good_for=spec.good_for)
    time, rows = _pick(say, "time"), _pick(say, "rows")
    payload = read_json(data, str(spec.options.get("file") or spec.name))
    if rows is not None:
        return _series(payload, context, wanted, rows=rows, time=(time, moments))
    wanted = tuple(replace(one, time=one.time or time) for one in wanted)
    return values_fact(payload, context, wanted, moments=moments, service="json")


def _pick(say: Saying, name: str) -> Pick | None:
    text = say.text(name, "")
    return pick_of(text, say.at(name)) if text else None


def _series(
    payload: object,
    context: ParseContext,
    wanted: Sequence[Sought],
    *,
    rows: Pick,
    time: tuple[Pick | None, Moments],
) -> Series | tuple[Series, ...]:
    say = Saying(context.spec.options, context.spec.where)
    when, moments = time
    if when is None:
        raise SourceError(
            "it picks rows, and does not say where a row has its time",
            where=say.at("time"),
            mend='Add time = "…", the part of a row that says when.',
        )
    try:
        listed = rows.of(payload)
    except DoubtError as doubt:
        raise SourceError(doubt.what, where=say.at("rows"), mend=doubt.mend) from None
    if not isinstance(listed, list):
        what = "nothing" if listed is None else "no list"
        raise SourceError(
            f"there is {what} at {rows.text!r}",
            where=say.at("rows"),
            mend="Check the pick against the payload.",
        )
    return rows_fact(listed, context, wanted, time=(when, moments), gap_after=say.length("gap_after"))
