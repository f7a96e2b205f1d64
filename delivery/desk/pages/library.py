"""The specs that can be found: what each requires, in plain sentences, and what two of them require differently."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from delivery.desk.pages._shared import page
from delivery.errors import DeliveryError


def routes() -> list[Route]:
    """Addresses of this page."""
    return [Route("/desk/specs", specs), Route("/desk/specs/{name}", explained)]


def specs(request: Request) -> Response:
    """The list of specs; the difference of two if both are named."""
    from datetime import date

    from delivery.schema import difference
    from delivery.tasks.specs import all_specs, is_stale

    try:
        found = {spec.id: spec for spec in all_specs()}
    except DeliveryError as error:
        return page(request, "nothing.html.j2", 400, text=str(error))
    names = [request.query_params.get(name, "") for name in ("one", "other")]
    both = [found[name] for name in names if name in found]
    apart = difference(*both) if len(both) == len(names) else None
    stale = {spec.id: is_stale(spec, date.today()) or "" for spec in found.values()}
    return page(request, "library.html.j2", specs=list(found.values()), stale=stale, chosen=names, apart=apart)


def explained(request: Request) -> Response:
    """One spec in plain sentences. It is looked up by name among those found, never by path."""
    from datetime import date

    from delivery.schema import explain
    from delivery.tasks.specs import all_specs, is_stale

    name = request.path_params["name"]
    try:
        spec = next((spec for spec in all_specs() if spec.id == name), None)
    except DeliveryError as error:
        return page(request, "nothing.html.j2", 400, text=str(error))
    if spec is None:
        return page(request, "nothing.html.j2", 404, text="There is no spec of this name.")
    stale = is_stale(spec, date.today()) or ""
    return page(request, "spec.html.j2", spec=spec, sentences=explain(spec), stale=stale)
