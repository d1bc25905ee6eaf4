"""Which elements a selector may hold for, told from the tag, classes and id that it asks of them."""

import re
from collections.abc import Iterator, Mapping, Sequence

from wallbill.press.css import Declaration
from wallbill.press.markup import Attribute

Subject = frozenset[str]
"""What an element must have for a selector to hold: its tag, ``.class`` and ``#id``, in lower case."""

_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_COMPOUND = re.compile(r"[\s>+~]+")
_SIMPLE = re.compile(r"(?<![\w:-])[.#]?[\w-]+|[.#][\w-]+")


def subjects_of(selector: str) -> Iterator[Subject]:
    """The subjects of a selector in lower case; an empty one holds for every element."""
    if "\\" in selector:
        yield frozenset()
        return
    while _BRACKETS.search(selector):
        selector = _BRACKETS.sub("", selector)
    for part in selector.split(","):
        compounds = _COMPOUND.split(part.strip())
        nested = "&" in part  # then the subject may stand further out
        for compound in compounds if nested else compounds[-1:]:
            names = frozenset(_SIMPLE.findall(compound.partition(":")[0]))
            if names or not compound.startswith("&"):
                yield names


def names_of(tag: str, has: Mapping[str, Attribute]) -> frozenset[str]:
    """What an element has for selectors to hold: its tag, classes and id, in lower case."""
    names = [tag]
    if "class" in has:
        names += [f".{name}" for name in has["class"].value.lower().split()]
    if "id" in has:
        names.append(f"#{has['id'].value.lower()}")
    return frozenset(names)


def subjects_with(
    declarations: Sequence[Declaration], name: re.Pattern[str], value: re.Pattern[str]
) -> tuple[Subject, ...]:
    """The subjects of every declaration whose property and value match two patterns as a whole."""
    return tuple(
        dict.fromkeys(
            subject
            for d in declarations
            if name.fullmatch(d.name)
            and value.fullmatch(" ".join(node.serialize() for node in d.value).strip())
            for subject in subjects_of(d.selector.lower())
        )
    )


def may_hold(subjects: Sequence[Subject], names: frozenset[str]) -> bool:
    """Whether one of some subjects may be an element of those names."""
    return any(subject <= names for subject in subjects)
