"""A spec of one's own from a parent: every field is checked while it is filled in, as the file will be read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from delivery.desk.pages._shared import page, posted
from delivery.errors import DeliveryError

if TYPE_CHECKING:
    from delivery.tasks.draft_spec import Draft

FIRST_PARENT = "store-base"


def routes() -> list[Route]:
    """Addresses of this page."""
    return [
        Route("/desk/new-spec", new_spec),
        Route("/desk/new-spec/check", posted(check), methods=["POST"]),
        Route("/desk/new-spec", posted(write), methods=["POST"]),
    ]


def new_spec(request: Request) -> Response:
    """The form, with what the parent requires."""
    from datetime import date

    from delivery.tasks.draft_spec import choices
    from delivery.tasks.specs import all_specs, find_spec

    named = request.query_params.get("parent", FIRST_PARENT)
    try:
        known = {spec.id: spec.title for spec in all_specs()}
        parent = find_spec(named if named in known else FIRST_PARENT)
    except DeliveryError as error:
        return page(request, "nothing.html.j2", 400, text=str(error))
    known.setdefault(parent.id, parent.title)
    today = date.today().isoformat()
    return page(request, "new_spec.html.j2", parent=parent, parents=known, subjects=choices(parent), today=today)


def check(_request: Request, data: dict[str, Any]) -> Any:
    """What is wrong with the fields as they are; or what the spec requires differently from its parent."""
    from delivery.tasks.draft_spec import checked

    faults, apart = checked(_draft(data))
    return {"faults": faults, "apart": apart}


def write(_request: Request, data: dict[str, Any]) -> Any:
    """Write the spec, unless a field has a fault."""
    from delivery.tasks.draft_spec import checked, write_draft

    draft = _draft(data)
    faults, _ = checked(draft)
    if faults:
        return {"faults": faults, "apart": []}
    write_draft(draft)
    return {"go": f"specs/{draft.name}"}


def _draft(data: dict[str, Any]) -> Draft:
    """From the fields of the form: 'word:RULE', 'limit:RULE', 'source:RULE', and texts. Raises KeyError, ValueError."""
    from delivery import rule_ids
    from delivery.tasks.draft_spec import HEAD, LIFTED, MUST, SHOULD, Draft, Row

    texts = {name: str(text) for name, text in data.items()}
    stated = [name.partition(":")[2] for name, word in texts.items() if name.startswith("word:") and word]
    if not set(stated) <= set(rule_ids()):
        raise ValueError(stated)
    rows = tuple(
        Row(rule, texts[f"word:{rule}"], texts.get(f"limit:{rule}", ""), texts.get(f"source:{rule}", ""))
        for rule in stated
    )
    if not {row.word for row in rows} <= {LIFTED, MUST, SHOULD}:
        raise ValueError(rows)
    return Draft(texts["name"].strip(), texts["parent"], {key: texts.get(key, "") for key in HEAD}, rows)
