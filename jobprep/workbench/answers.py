"""What answers a request, in JSON or otherwise, and says in plain words what is wrong."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from jobprep.errors import CannotDoError, InputError
from jobprep.serving.request import Answer, Refused, Request, json_answer
from jobprep.workbench.newest import Newest

Asked = Callable[[Request], dict[str, Any]]


def newest_answer(
    newest: Newest, about: str, question: dict[str, Any], *, late: str, broken: str
) -> dict[str, Any]:
    """Return what a process of its own answers to the newest question about something.

    Raises ``Refused``: in the words ``late`` where it takes too long, ``broken`` where the process
    ends, and where a newer question took the place of this one.
    """
    try:
        found = newest.ask(about, question)
    except TimeoutError:
        raise Refused(503, late) from None
    except ConnectionError:
        raise Refused(500, broken) from None
    if found is None:
        raise Refused(409, "a newer question took the place of this one")
    return found


def answered(ask: Asked) -> Callable[[Request], Answer]:
    """Return what answers a request in JSON; what is wrong becomes a refusal in plain words."""
    return refusing(lambda request: json_answer(ask(request)))


def refusing(ask: Callable[[Request], Answer]) -> Callable[[Request], Answer]:
    """Return what answers a request; what is wrong becomes a refusal in plain words."""

    def answer(request: Request) -> Answer:
        try:
            return ask(request)
        except InputError as error:
            first = error.problems[0]
            found = [
                {
                    "severity": each.severity,
                    "at": each.place.field,
                    "line": each.place.line,
                    "message": each.message,
                }
                for each in error.problems
            ]
            raise Refused(422, first.message, findings=found) from None
        except CannotDoError as error:
            raise Refused(422, str(error), findings=[]) from None

    return answer
