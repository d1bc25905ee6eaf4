"""The template environment: a sandboxed Jinja2 over the wall's sheets, with the wall's wording and the blocks.

Pure: templates come as texts, facts and the moment as values. The same arguments give the same HTML.
"""

import re
import traceback
from collections.abc import Callable, Iterable, Mapping, Sized
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import partial, wraps
from typing import Any

import jinja2
from jinja2.exceptions import SecurityError
from jinja2.runtime import Context, Macro
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.utils import missing

from wallbill.errors import Place, SheetError, WallbillError
from wallbill.places.words import closest, did_you_mean
from wallbill.sheets.lengths import reckoned
from wallbill.sheets.missing import DASH, Missing

_LIST_OF_PATHS = "Check the spelling; `wallbill facts` lists every path that a sheet may use."
_LONGEST_TOLD = 60
_OF_A_VALUE = (
    "abs",
    "round",
    "int",
    "float",
    "format",
    "first",
    "last",
    "min",
    "max",
    "sum",
    "random",
    "filesizeformat",
)
_OWNER = re.compile(r"[\w.<>]+\.(\w+)\(\)")


class _GapError(jinja2.UndefinedError):
    """A name that is not there was printed or asked for a part: ``name`` of ``owner``, or of the sheet itself."""

    def __init__(self, message: str, *, owner: object, name: object) -> None:
        super().__init__(message)
        self.owner = owner
        self.name = name

    def told(self, known: Iterable[str]) -> tuple[str, str]:
        """What is wrong and the mend; ``known``: the names that a sheet can see."""
        if self.owner is not missing and isinstance(self.name, int) and isinstance(self.owner, Sized):
            return f"there is no member {self.name}: the row has {len(self.owner)}", "Count from 0."
        what = f"{self.name!r} is undefined"
        if isinstance(self.owner, Mapping):
            what, known = f"there is no {self.name!r} in the table", [str(key) for key in self.owner]
        elif self.owner is not missing:
            what = f"{type(self.owner).__name__} has no {self.name!r}"
            known = [part for part in dir(self.owner) if not part.startswith("_")]
        near = closest(str(self.name), known)
        return what, f"Did you mean {near!r}?" if near else _LIST_OF_PATHS


class _StrictGaps(jinja2.StrictUndefined):
    """An undefined name stops the sheet, unless it is only asked whether it is there."""

    def __init__(
        self, hint: str | None = None, obj: Any = missing, name: Any = None, exc: Any = None
    ) -> None:
        if exc is None and hint is None:
            exc = partial(_GapError, owner=obj, name=name)
        super().__init__(hint, obj, name, exc or jinja2.UndefinedError)


Note = Callable[[str], None]


class _SheetEnvironment(ImmutableSandboxedEnvironment):
    """Jinja2 that gives a missing fact its parts, and leaves private names out of reach.

    A part of None is a gap as well: an hour beyond the forecast has no temperature, and that is no fault of the sheet.
    """

    intercepted_binops = frozenset({"+", "-"})

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.noting: ContextVar[Note] = ContextVar("noting")

    def getattr(self, obj: Any, attribute: str) -> Any:
        """A part of a missing fact, or of None, is missing; all else as the sandbox has it."""
        if not attribute.startswith("_"):
            if isinstance(obj, Missing):
                return getattr(obj, attribute)
            if obj is None:
                return Missing(attribute, self.noting.get())
        return super().getattr(obj, attribute)

    def getitem(self, obj: Any, argument: Any) -> Any:
        """A member of None is missing; all else as the sandbox has it."""
        if obj is None:
            return Missing(f"[{argument!r}]", self.noting.get())
        return super().getitem(obj, argument)

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Sums and differences; those of moments by the time that passes, see `wallbill.sheets.lengths`."""
        found = reckoned(operator, left, right)
        return super().call_binop(context, operator, left, right) if found is NotImplemented else found

    def call(self, context: Context, called: Any, /, *args: Any, **kwargs: Any) -> Any:
        """A call in a sheet. Only macros may be handed an undefined name, to ask whether it is there."""
        if not isinstance(called, Macro):
            _refuse_gaps(*args, *kwargs.values())
        return super().call(context, called, *args, **kwargs)


def guarded(name: str, filter_: Callable[..., Any]) -> Callable[..., Any]:
    """``filter_`` made to take `Missing` as None, so that a gap prints as a dash, and to say what it cannot take."""

    def filled(value: Any = None, *args: Any, **kwargs: Any) -> Any:
        if isinstance(value, Missing):
            str(value)  # notes the gap
            value = None
        _refuse_gaps(value, *args, *kwargs.values())
        try:
            return filter_(value, *args, **kwargs)
        except WallbillError:
            raise
        except Exception as error:
            raise SheetError(
                f"the filter {name!r} cannot be put on {_short(value)}{_because(error)}",
                mend="Give it the kind of value that it words, and the options that it has.",
            ) from error

    return filled


def _letting_gaps_through(filter_: Callable[..., Any]) -> Callable[..., Any]:
    """A filter of the template language that hands on a missing fact, where it would fail or make up a value."""

    @wraps(filter_)
    def filled(*args: Any, **kwargs: Any) -> Any:
        gap = next((value for value in args if isinstance(value, Missing)), None)
        return filter_(*args, **kwargs) if gap is None else gap

    return filled


def _default(value: Any, default_value: Any = "", boolean: bool = False) -> Any:  # noqa: FBT001, FBT002  the language's own
    """The language's ``default``, for which a missing fact is as undefined as a name that is not there."""
    if isinstance(value, jinja2.Undefined | Missing) or (boolean and not value):
        return default_value
    return value


def _refuse_gaps(*values: object) -> None:
    """Raises for the first undefined name, which would else be told as a value of the wrong kind."""
    for value in values:
        if isinstance(value, _StrictGaps):
            str(value)


def _short(value: object) -> str:
    said = repr(value)
    return said if len(said) <= _LONGEST_TOLD else f"a {type(value).__name__}"


def _because(error: Exception) -> str:
    """What an error says, in the words of a sheet: the functions' names as sheets call them."""
    said = " ".join(_OWNER.sub(r"\1()", str(error)).split())
    return f": {said}" if said else ""


def _finalise(value: Any) -> Any:
    """None prints as a dash: a gap is shown, never the word "None"."""
    return DASH if value is None else value


@dataclass(frozen=True, slots=True)
class Environment:
    """The sheets of a wall, ready to be filled in.

    ``texts``: file name under ``sheets/`` to its text. ``filters``: what templates may put values through.
    Kept from page to page, so that a template is compiled once; all that changes comes in the scope.
    """

    texts: Mapping[str, str]
    filters: Mapping[str, Callable[..., Any]]
    _jinja: _SheetEnvironment = field(init=False, repr=False)

    def __post_init__(self) -> None:
        made = _SheetEnvironment(
            loader=jinja2.FunctionLoader(self._text),
            autoescape=True,
            undefined=_StrictGaps,
            trim_blocks=True,
            lstrip_blocks=True,
            finalize=_finalise,
            extensions=["jinja2.ext.do", "jinja2.ext.loopcontrols"],
        )
        made.filters.update({name: guarded(name, call) for name, call in self.filters.items()})
        made.filters.update({name: _letting_gaps_through(made.filters[name]) for name in _OF_A_VALUE})
        made.filters.update({"default": _default, "d": _default})
        object.__setattr__(self, "_jinja", made)

    def _text(self, name: str) -> tuple[str, str, Callable[[], bool]] | None:
        """A sheet's text, and its name as the file that faults are told of."""
        text = self.texts.get(name)
        return None if text is None else (text, name, lambda: True)

    def fill(self, name: str, scope: Mapping[str, Any], *, note: Note = lambda path: None) -> str:
        """The sheet ``name`` (with its ending) filled in with ``scope``. Raises `SheetError` with file and line.

        ``note``: called with the path of each part of None that is printed.
        """
        token = self._jinja.noting.set(note)
        try:
            return self._jinja.get_template(name).render(scope)
        except WallbillError as error:
            if str(error.where):
                raise
            raise SheetError(error.what, where=_place_of(error, name), mend=error.mend) from error
        except jinja2.TemplateError as error:
            raise self._template_fault(error, name, known=scope) from error
        except RecursionError as error:
            raise SheetError(
                "the sheet includes or calls itself without end",
                where=_place_of(error, name),
                mend="Break the circle.",
            ) from error
        except MemoryError as error:
            raise SheetError(
                "the sheet wants more memory than there is",
                where=_place_of(error, name),
                mend="Look for a text or a list that grows without end.",
            ) from error
        except Exception as error:
            # The sheet is the user's own program: whatever goes wrong in it is told as a fault of the sheet.
            raise SheetError(
                f"{type(error).__name__}{_because(error)}",
                where=_place_of(error, name),
                mend="Look at the values on this line: one is not of the kind that is done to it.",
            ) from error
        finally:
            self._jinja.noting.reset(token)

    def holds(self, expression: str, scope: Mapping[str, Any], *, where: Place | None = None) -> bool:
        """Whether an expression over facts is true now; false where its facts are missing.

        ``where``: its place, for messages. Raises `SheetError` for whatever goes wrong in it.
        """
        token = self._jinja.noting.set(lambda path: None)
        try:
            return bool(self._jinja.compile_expression(expression)(**scope))
        except WallbillError as error:
            raise SheetError(error.what, where=where, mend=error.mend) from error
        except Exception as error:
            raise SheetError(
                f"cannot reckon the condition {expression!r}{_because(error)}",
                where=where,
                mend="Write an expression over facts, such as facts.alerts.",
            ) from error
        finally:
            self._jinja.noting.reset(token)

    def _template_fault(self, error: jinja2.TemplateError, name: str, *, known: Iterable[str]) -> SheetError:
        """A fault of Jinja2's in our words, with its place."""
        if isinstance(error, _GapError):
            what, mend = error.told(known)
            return SheetError(what, where=_place_of(error, name), mend=mend)
        if isinstance(error, jinja2.TemplateSyntaxError):
            return SheetError(
                str(error.message),
                where=Place(_file(error.name or name), error.lineno),
                mend="Close or correct the tag on this line.",
            )
        if isinstance(error, jinja2.TemplateNotFound):
            asked = str(error.name or name)
            return SheetError(
                f"there is no sheet {asked!r}",
                where=Place(_file(name)),
                mend=did_you_mean(asked, self.texts, else_=f"Put {asked!r} into sheets/."),
            )
        if isinstance(error, SecurityError):
            return SheetError(
                f"{error}",
                where=_place_of(error, name),
                mend="A sheet may only read facts and call filters and blocks; do the work in facts/.",
            )
        return SheetError(
            str(error.message or error),
            where=_place_of(error, name),
            mend=_LIST_OF_PATHS,
        )


def _file(name: str) -> str:
    return f"sheets/{name}"


def _place_of(error: BaseException, name: str) -> Place:
    """File and line of the innermost template frame that an error came through."""
    frames = [
        frame
        for frame in traceback.extract_tb(error.__traceback__)
        if frame.name in {"root", "top-level template code"}
        or frame.name.startswith(("block ", "template", "macro"))
    ]
    if not frames:
        return Place(_file(name))
    last = frames[-1]
    return Place(_file(last.filename), last.lineno)
