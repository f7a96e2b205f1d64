"""Pick the specs of a release from those that can be found."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from delivery.desk.pages._shared import page, release_of


def routes() -> list[Route]:
    """Addresses of this page."""
    return [Route("/desk/release/{release}/specs", specs)]


def specs(request: Request) -> Response:
    """The page of specs."""
    from datetime import date

    from delivery.tasks.specs import all_specs, is_stale

    one = release_of(request)
    picked = one.text.release.deliver_to if one.text.release else ()
    today = date.today()
    found = [(spec.id, spec.title or spec.id, spec.id in picked, is_stale(spec, today) or "") for spec in all_specs()]
    known = {name for name, *_ in found}
    others = [name for name in picked if name not in known]  # paths, or a folder's own specs
    return page(request, "specs.html.j2", one=one, specs=found, others=others)
