"""The generated files in the running programs: who asks from which zone is told what, also while the name server is down."""

import json
import sys
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from names_files import files, put, run
from offices import example

from scantling.figures import FIREWALL, Name, Server, Subnet
from scantling.plan.make import Plan

HERE = Path(__file__).parent
FILTER, PLAIN = "millrace", "fold"
DOWN = "while the name server is down"


def resolver_of(plan: Plan) -> Server:
    """The one that knows the office's names."""
    return next(one for one in plan.records(Server) if one.slug == "lookups")


def someone(plan: Plan, zone: str) -> str:
    """An address that a device of a zone may have."""
    return str(next(one.network[-2] for one in plan.records(Subnet) if one.slug == zone))


def ready_to_run(plan: Plan, folder: Path) -> dict[str, Path]:
    """The files as generated, but for folders and users that only the real machine has."""
    placed = {one.path: path for one, path in put(files(plan), folder)}
    server, resolver = placed["names/nsd.conf"], placed[f"lookups/{resolver_of(plan).holder}/unbound.conf"]
    text = (
        server.read_text("ascii")
        .replace("/etc/nsd/zones", f"{folder}/names")
        .replace("control-enable: yes", "control-enable: no")
    )
    names = next(one for one in plan.records(Server) if one.does == "names")
    text = text.replace(
        " NOKEY\n    provide-xfr", f" NOKEY\n    outgoing-interface: {names.addresses[0]}\n    provide-xfr"
    )
    own = {"pidfile": "nsd.pid", "xfrdfile": "xfrd.state", "zonelistfile": "zone.list", "xfrdir": "."}
    lines = "".join(f'    {word}: "{folder}/{name}"\n' for word, name in own.items())
    server.write_text(text.replace("server:\n", f'server:\n    username: ""\n{lines}', 1), "ascii")
    (folder / "copies").mkdir(exist_ok=True)
    text = resolver.read_text("ascii").replace("/var/lib/unbound", f"{folder}/copies")
    own = {"username": "", "chroot": "", "directory": str(folder), "pidfile": f"{folder}/unbound.pid"}
    lines = "".join(f'    {word}: "{value}"\n' for word, value in own.items())
    resolver.write_text(
        text.replace("server:\n", f"server:\n{lines}    do-daemonize: no\n    use-syslog: no\n", 1), "ascii"
    )
    return {"nsd": server, "unbound": resolver}


def asked(plan: Plan, folder: Path, questions: list[dict[str, str]], *, down: bool) -> list[dict[str, Any]]:
    """Both programs in a namespace of their own, or the resolver alone, and what it says."""
    placed = ready_to_run(plan, folder)
    names = next(one for one in plan.records(Server) if one.does == "names")
    own = {str(address) for one in plan.records(Server) for address in one.addresses} | {
        one["source"] for one in questions
    }
    todo = {
        "server": [] if down else ["nsd", "-d", "-f", "", "-c", str(placed["nsd"])],
        "resolver": ["unbound", "-d", "-c", str(placed["unbound"])], "questions": questions,
        "names": list(map(str, names.addresses)), "beside": list(names.upstream),
        "alone": sorted(own - set(map(str, names.addresses)) - set(names.upstream)),
    }  # fmt: skip
    (folder / "plan.json").write_text(json.dumps(todo), "utf-8")
    found = run("unshare", "-rn", sys.executable, str(HERE / "names_in_namespace.py"), str(folder))
    logs = "".join(log.read_text("utf-8") for log in folder.glob("*.log"))
    assert found.returncode == 0, f"{found.stderr}{logs}"
    answers: list[dict[str, Any]] = json.loads(found.stdout)
    return answers


def question(source: str, server: str, name: str, kind: str = "A") -> dict[str, str]:
    """One question from one address."""
    return {"source": source, "server": server, "name": name, "type": kind}


def of_staff(plan: Plan) -> dict[str, dict[str, str]]:
    """What somebody in the staff zone asks the resolver of that zone."""
    resolver = resolver_of(plan)
    gate = next(str(one.gateway) for one in plan.records(Subnet) if one.slug == "staff")
    at = gate if resolver.holder == FIREWALL else str(resolver.addresses[0])
    machine = next(one for one in plan.records(Name) if one.holder == "directory")
    domain = machine.name.partition(".")[2]
    names = {
        "machine": (machine.name, "A"), "alias": (f"names.{domain}", "A"), "back": (machine.addresses[0].reverse_pointer, "PTR"),
        "service": (f"_ldap._tcp.{domain}", "SRV"), "published": ("tickets.millrace.example", "A"), "nobody": (f"nobody.{domain}", "A"),
        "canary": ("use-application-dns.net", "A"), "back6": (machine.addresses[-1].reverse_pointer, "PTR"),
    }  # fmt: skip
    return {word: question(someone(plan, "staff"), at, *one) for word, one in names.items()}


@cache
def lived(office: str) -> Mapping[str, Mapping[str, Any]]:
    """All answers of an office, the name server up, then down while the resolver starts anew from its copies."""
    plan = example(office)
    staff = {
        word: one for word, one in of_staff(plan).items() if office == FILTER or word not in ("published", "canary")
    }
    others = (
        {f"guest {word}": {**one, "source": someone(plan, "guests")} for word, one in staff.items()}
        if office == FILTER
        else {}
    )
    gate = next(str(one.gateway) for one in plan.records(Subnet) if one.slug == "servers")
    others |= {f"firewall {word}": {**one, "source": gate} for word, one in staff.items()} if office == FILTER else {}
    every = {**staff, **others}
    with TemporaryDirectory(prefix="names-") as folder:
        up = asked(plan, Path(folder), list(every.values()), down=False)
        cold = asked(plan, Path(folder), list(staff.values()), down=True)
    return {
        **dict(zip(every, up, strict=True)),
        **{f"{word} {DOWN}": one for word, one in zip(staff, cold, strict=True)},
    }


@pytest.mark.parametrize("office", [FILTER, PLAIN])
@pytest.mark.parametrize("when", ["", f" {DOWN}"])
def test_staff_find_every_name_also_while_the_name_server_is_down(office: str, when: str) -> None:
    """Names, further names, addresses back through RFC 2317's aliases, services; both families."""
    plan, found = example(office), lived(office)
    machine = next(one for one in plan.records(Name) if one.holder == "directory")
    assert found[f"machine{when}"]["answers"] == [str(machine.addresses[0])]
    assert found[f"alias{when}"]["answers"] == [str(machine.addresses[0])]
    assert found[f"back{when}"]["answers"] == [f"{machine.name}."]
    assert found[f"back6{when}"]["answers"] == [f"{machine.name}."]
    assert found[f"service{when}"]["answers"] == [f"0 100 389 {machine.name}."]
    assert found[f"nobody{when}"]["code"] == "NXDOMAIN"


def test_the_same_public_name_has_an_inside_answer_inside() -> None:
    plan, found = example(FILTER), lived(FILTER)
    inside = next(one for one in plan.records(Name) if one.holder == "application")
    assert found["published"]["answers"] == [str(inside.addresses[0])]
    assert found[f"published {DOWN}"]["answers"] == [str(inside.addresses[0])]


def test_who_asks_through_the_firewall_learns_no_office_name() -> None:
    """Guests and payments: nothing of the office, and the outside address of what is published."""
    found = lived(FILTER)
    for word in ("machine", "alias", "back", "back6", "service"):
        assert found[f"firewall {word}"] == {"code": "NXDOMAIN", "answers": []}
    assert found["firewall published"]["answers"] == ["203.0.113.45"]


def test_a_zone_that_asks_another_resolver_is_refused() -> None:
    """A guest who asks the filter itself, past the firewall's resolver."""
    found = lived(FILTER)
    assert {found[one]["code"] for one in found if one.startswith("guest ")} == {"REFUSED"}


def test_programs_that_look_names_up_elsewhere_are_told_to_stay() -> None:
    assert lived(FILTER)["canary"]["code"] == "NXDOMAIN"
