"""Topic names and topic filters of MQTT (OASIS MQTT 5.0, 7 March 2019, 4.7; the same in 3.1.1)."""

_MOST_BYTES = 65535


def filter_fault(text: str) -> str | None:
    """What is wrong with a topic filter, None for a good one."""
    if not text:
        return "it is empty"
    if "\0" in text or len(text.encode("utf-8", "replace")) > _MOST_BYTES:
        return "it holds a NUL sign" if "\0" in text else "it is too long"
    if text.startswith("$share/"):
        return "it shares messages with other clients, which would miss them"
    levels = text.split("/")
    if any("#" in level for level in levels[:-1]) or ("#" in levels[-1] and levels[-1] != "#"):
        return "# may only stand alone as the last level"
    if any("+" in level and level != "+" for level in levels):
        return "+ may only stand alone as a level"
    return None


def is_open(topic_filter: str) -> bool:
    """Whether a filter leaves a level open, so that several topics may match it."""
    return any(level in {"+", "#"} for level in topic_filter.split("/"))


def opened(topic_filter: str, topic: str) -> str | None:
    """The levels of a topic that a good filter leaves open, joined by ``/``; None where the topic does not match.

    A filter that begins with a wildcard does not match topics that begin with ``$``.
    """
    if topic.startswith("$") and topic_filter[:1] in {"+", "#"}:
        return None
    asked, given = topic_filter.split("/"), topic.split("/")
    left: list[str] = []
    for place, level in enumerate(asked):
        if level == "#":
            return "/".join([*left, *given[place:]])
        if place >= len(given) or (level not in {"+", given[place]}):
            return None
        if level == "+":
            left.append(given[place])
    return "/".join(left) if len(asked) == len(given) else None
