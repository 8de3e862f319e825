"""The verb weigh: what else could have been bought, what each demand costs, and why the rest is never chosen."""

import json

from scantling.outputs.weighed import as_plain
from scantling.plan.make import Plan
from scantling.plan.telling import as_json
from scantling.plan.weighing import Weighed, weighed


def weigh(made: Plan) -> Weighed:
    """The purchase of a plan weighed: the ten next best sets, the price of every demand, what is never chosen, and why."""
    return weighed(made)


def weighed_json(made: Plan, told: Weighed) -> str:
    """The plan as canonical JSON, with what was weighed in a section of its own."""
    whole = {**as_json(made), "weighed": as_plain(told)}
    return json.dumps(whole, sort_keys=True, ensure_ascii=False, indent=1) + "\n"
