"""What answers a request, in JSON or otherwise, and says in plain words what is wrong."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from jobprep.errors import CannotDoError, InputError
from jobprep.serving.request import Answer, Refused, Request, json_answer

Asked = Callable[[Request], dict[str, Any]]


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
