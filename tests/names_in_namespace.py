"""Starts the name server and the resolver of an office in a network namespace of their own and asks them (run by test_files_names_live.py).

Usage: names_in_namespace.py FOLDER, where plan.json holds addresses, files and questions; prints the answers as JSON.
"""

import json
import shutil
import subprocess
import sys
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import dns.exception
import dns.message
import dns.query
import dns.rcode
import dns.rdatatype

PATIENCE = 60.0


def main(folder: Path) -> None:
    """Two machines and a cable between them, both programs, every question, an end to both."""
    plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    with (folder / "programs.log").open("w", encoding="utf-8") as log:
        started = [
            subprocess.Popen(
                [shutil.which("unshare") or "/usr/bin/unshare", "-n", "sleep", "600"], stdout=log, stderr=log
            )
        ]
        try:
            cabled(plan, started[0].pid)
            there = ["nsenter", "-t", str(started[0].pid), "-n"]
            if plan["server"]:
                started.append(subprocess.Popen([*there, *plan["server"]], stdout=log, stderr=log))
                wait({**plan["questions"][0], "server": plan["names"][0], "source": plan["beside"][0]})
            started.append(subprocess.Popen(plan["resolver"], stdout=log, stderr=log))
            wait(plan["questions"][0])
            sys.stdout.write(json.dumps([answer(one) for one in plan["questions"]]))
        finally:
            for one in started:
                one.terminate()
                one.wait(timeout=10)


def cabled(plan: dict[str, Any], there: int) -> None:
    """The resolver's machine here, with the devices that ask; the machine that holds the names behind a cable."""
    far = ("nsenter", "-t", str(there), "-n")
    while Path(f"/proc/{there}/ns/net").readlink() == Path("/proc/self/ns/net").readlink():
        sleep(0.01)
    ip("link", "set", "lo", "up")
    ip("link", "add", "here", "type", "veth", "peer", "name", "there", "netns", str(there))
    ip("link", "set", "here", "up")
    ip("link", "set", "there", "up", before=far)
    for address in plan["beside"]:
        ip("address", "add", whole(address), "dev", "here", *quick(address))
    for address in plan["alone"]:
        ip("address", "add", whole(address), "dev", "lo", *quick(address))
    for address in plan["names"]:
        ip("address", "add", whole(address), "dev", "there", *quick(address), before=far)
        own = next(one for one in plan["beside"] if (":" in one) == (":" in address))
        ip("route", "add", whole(address), "dev", "here", "src", own)
        ip("route", "add", whole(own), "dev", "there", "src", address, before=far)


def ip(*words: str, before: tuple[str, ...] = ()) -> None:
    """One setting of the network, here or on the other machine."""
    subprocess.run([*before, shutil.which("ip") or "/sbin/ip", *words], check=True)


def whole(address: str) -> str:
    """The address alone, as a network of one."""
    return f"{address}/128" if ":" in address else f"{address}/32"


def quick(address: str) -> tuple[str, ...]:
    """No waiting for somebody who has the same address: there is nobody else."""
    return ("nodad",) if ":" in address else ()


def wait(question: dict[str, str]) -> None:
    """Until a question that must have an answer has one. Raises TimeoutError."""
    end = monotonic() + PATIENCE
    while monotonic() < end:
        if answer(question)["answers"]:
            return
        sleep(0.05)
    raise TimeoutError(f"no answer to {question}")


def answer(question: dict[str, str]) -> dict[str, Any]:
    """The response code and all data of one question, asked from one address."""
    asked = dns.message.make_query(question["name"], question["type"])
    try:
        said = dns.query.udp(asked, question["server"], timeout=2.0, source=question["source"])
    except (OSError, dns.exception.Timeout) as wrong:
        return {"code": type(wrong).__name__, "answers": []}
    kind = dns.rdatatype.from_text(question["type"])
    found = [one.to_text() for group in said.answer if group.rdtype == kind for one in group]
    return {"code": dns.rcode.to_text(said.rcode()), "answers": found}


if __name__ == "__main__":
    main(Path(sys.argv[1]))
