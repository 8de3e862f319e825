"""What a form of the office sent."""

from collections.abc import Mapping
from urllib.parse import parse_qsl

from starlette.requests import Request

MOST_FIELDS = 400


async def sent(request: Request) -> Mapping[str, str]:
    """The fields of a form by name; nothing where it has more than any form of the office."""
    body = await request.body()
    try:
        pairs = parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=MOST_FIELDS)
    except ValueError:
        return {}
    return dict(pairs)
