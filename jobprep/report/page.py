"""A page that is complete in itself: it loads nothing, and a policy says so.

Its style is ``page.css`` beside this file; a script runs only when it is the one the policy names.
"""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files

from jobprep.report.markup import Markup, element, text


def page(title: str, *body: Markup, script: str = "") -> str:
    """Return an HTML page in the style of ``page.css``; ``script`` runs when all of it is there."""
    style = packed("page.css")
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=_policy(style, script)),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("meta", name="color-scheme", content="light dark"),
        element("title", title),
        element("style", Markup(style)),
    )
    last = (element("script", Markup(script)),) if script else ()
    whole = element("html", head, element("body", *body, *last), lang="en")
    return f"<!DOCTYPE html>\n{whole}\n"


def served(page_text: str) -> str:
    """Return a page of ours as it is handed out while its job is watched.

    A further script, ``live.js``, asks whoever handed it out for news, and no one else. The page
    carries its own digest, by which the script knows a newer one.
    """
    script = packed("live.js")
    head, name, rest = page_text.partition("script-src")
    allowed = text(f"connect-src 'self'; {name} 'sha256-{_digest(script)}'")
    opened, start, body = (allowed + rest.removeprefix(text(" 'none'"))).partition("<body")
    body, end, tail = body.rpartition("</body>")
    own = f' data-page="{page_digest(page_text)}"'
    return f"{head}{opened}{start}{own}{body}<script>{script}</script>{end}{tail}"


def page_digest(page_text: str) -> str:
    """Return what tells one page from another."""
    return hashlib.sha256(page_text.encode()).hexdigest()


def packed(name: str) -> str:
    """Return the text of a file beside this one."""
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    """Return a policy that allows this style and this script, named by their hashes, no more."""
    allowed = f"'sha256-{_digest(script)}'" if script else "'none'"
    return (
        f"default-src 'none'; style-src 'sha256-{_digest(style)}'; script-src {allowed}; "
        "base-uri 'none'; form-action 'none'"
    )


def _digest(source: str) -> str:
    return base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()
