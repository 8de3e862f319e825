"""Two small shell scripts beside the firewall's rules: one loads them with a way back, one fills the sets of names."""

from collections.abc import Iterator, Sequence

from scantling.figures import text
from scantling.figures.traffic import Net, RuleSet
from scantling.handbook.set_aside import of_family
from scantling.outputs.files import Written
from scantling.outputs.files.packet_filter_text import (
    IPV4, IPV6, address, head, host_name, slug,
)  # fmt: skip
from scantling.plan.make import Plan

LOAD_HEAD = (
    "loads the firewall's rules, with a way back",
    "",
    "  sh load.sh           loads rules.nft for a trial of 60 seconds; then the old rules return by themselves",
    "  sh load.sh confirm   keeps them: say it from a NEW connection, which proves that one can still be made",
    "  sh load.sh undo      brings back what stood before, during the trial and after it",
    "",
    "A connection that stands already goes on under any rules, so it proves nothing. Stay near the console the first time.",
    "What is confirmed lies in /var/lib/office-firewall/confirmed.nft. To have it at every start, before the network, let",
    "the system's own nftables service read it: a line in its file says",
    '  include "/var/lib/office-firewall/confirmed.nft"',
)
FILL_HEAD = (
    "fills the parties whose addresses move, from what their names answer",
    "",
    "Run it after each start and every five minutes; load.sh runs it too. For cron:",
    "  */5 * * * * root sh /etc/office-firewall/fill-sets.sh",
    "It asks the resolver that this machine asks, which must be the one that the office asks: then both get the same",
    "answers. Only addresses of the public Internet are taken. Where a name has no answer, its party stays as it is.",
    "The rules must not be loaded from elsewhere meanwhile: a set that isn't there is an error, and nothing changes.",
)
LOAD = r"""set -eu
PATH=$PATH:/usr/sbin:/sbin
here=$(cd "$(dirname "$0")" && pwd)
root=${OFFICE_FIREWALL_ROOT:-}
kept=$root/var/lib/office-firewall
now=$root/run/office-firewall
patience=${OFFICE_FIREWALL_SECONDS:-60}

# The tables as they stand, as a file that brings them back; with none, one that takes ours away.
# Hours are listed and loaded in UTC, so that they stay what they are.
standing() {
    tables=$(nft list tables) || return 1
    for table in 'inet office' 'ip office-nat'; do
        printf 'table %s\ndelete table %s\n' "$table" "$table"
        if echo "$tables" | grep -qx "table $table"; then
            TZ=UTC nft -s list table $table || return 1
        fi
    done
}

# The trial belongs to whoever can take its folder away: the clock, confirm or undo.
ended() { rmdir "$now/trial/$1" 2>/dev/null && rmdir "$now/trial" 2>/dev/null; }
running() { for trial in "$now/trial/"*; do basename "$trial"; done; }
kept_as() { cp "$2" "$kept/$1.part" && mv "$kept/$1.part" "$kept/$1"; }
returned() { TZ=UTC nft -f "$1"; }

trial() {
    nft -c -f "$here/rules.nft"
    mkdir -p "$kept" "$now"
    if ! mkdir "$now/trial" 2>/dev/null; then
        echo 'A trial is running: confirm it, undo it, or wait until its time is over.' >&2
        exit 1
    fi
    mine=$$-$(date +%s)
    mkdir "$now/trial/$mine"
    cp "$here/rules.nft" "$now/loaded.nft"
    if ! standing >"$now/before.nft" || ! nft -f "$now/loaded.nft"; then
        ended "$mine"
        echo 'Nothing was loaded; the rules that stood are still there.' >&2
        exit 1
    fi
    (
        trap '' HUP INT
        sleep "$patience"
        if ended "$mine"; then returned "$now/before.nft"; fi
    ) </dev/null >/dev/null 2>&1 &
    if [ -e "$here/fill-sets.sh" ] && ! sh "$here/fill-sets.sh"; then
        echo 'Some parties have no addresses yet; see above.' >&2
    fi
    echo "Loaded for $patience seconds. From a new connection: sh $here/load.sh confirm"
}

confirm() {
    if ! ended "$(running)"; then
        echo 'There is no trial to confirm: its time is over and the old rules are back, or nothing was loaded.' >&2
        exit 1
    fi
    kept_as before.nft "$now/before.nft"
    kept_as confirmed.nft "$now/loaded.nft"
    echo 'Confirmed. sh load.sh undo brings back what stood before.'
}

undo() {
    if ended "$(running)"; then
        returned "$now/before.nft"
        echo 'The trial is over; what stood before it is back.'
    elif [ -e "$kept/before.nft" ]; then
        returned "$kept/before.nft"
        mv "$kept/before.nft" "$kept/confirmed.nft"
        echo 'What stood before the rules that were last confirmed is back.'
    else
        echo 'There is nothing to go back to.' >&2
        exit 1
    fi
}

case ${1:-trial} in
trial) trial ;;
confirm) confirm ;;
undo) undo ;;
*)
    echo 'sh load.sh, sh load.sh confirm or sh load.sh undo' >&2
    exit 2
    ;;
esac
"""
FILL = r"""set -u
PATH=$PATH:/usr/sbin:/sbin
failed=0

# Addresses of the public Internet that a name answers with, one a line; nothing that is special by RFC 6890.
asked() {
    answers=$(getent ahosts "$1" | awk '
        $1 ~ /^[0-9]+\.[0-9]+\.[0-9]+\.[0-9]+$/ {
            split($1, part, ".")
            a = part[1] + 0
            b = part[2] + 0
            if (a == 0 || a == 10 || a == 127 || a >= 224) next
            if (a == 100 && b >= 64 && b <= 127) next
            if (a == 169 && b == 254) next
            if (a == 172 && b >= 16 && b <= 31) next
            if (a == 192 && (b == 168 || (b == 0 && part[3] + 0 == 0))) next
            if (a == 198 && (b == 18 || b == 19)) next
            print $1
        }
        $1 ~ /^[23][0-9a-f][0-9a-f][0-9a-f]:[0-9a-f:]+$/ { print $1 }
    ' | sort -u)
    [ -n "$answers" ] && printf '%s\n' "$answers"
}

filled() { # set, addresses
    printf 'flush set inet office %s\n' "$1"
    if [ -n "$2" ]; then printf 'add element inet office %s { %s }\n' "$1" "$(echo $2 | sed 's/ /, /g')"; fi
}

party() { # slug, listed networks of IPv4 and of IPv6, names
    slug=$1 four=$2 six=$3
    shift 3
    for name; do
        if ! answers=$(asked "$name"); then
            echo "party $slug: $name has no public address just now; the party stays as it is" >&2
            failed=1
            return
        fi
        four="$four $(echo "$answers" | grep -v : | tr '\n' ' ')"
        six="$six $(echo "$answers" | grep : | tr '\n' ' ')"
    done
    { filled "party-$slug-4" "$four" && filled "party-$slug-6" "$six"; } | nft -f - || failed=1
}

"""


def write(plan: Plan) -> Iterator[Written]:
    """How to load the rules of the plan, and how to fill the sets of those parties that are known by name."""
    for rules in plan.records(RuleSet):
        office, as_of = text(plan.office.name), text(plan.office.as_of)
        yield Written(
            path="firewall/load.sh",
            content=script(head(office, as_of, LOAD_HEAD), LOAD).encode(),
            what="Loads rules.nft for a trial of 60 seconds; unless confirmed, the old rules return by themselves.",
            goes="On the firewall, in /etc/office-firewall beside rules.nft.",
            load="sh load.sh; then sh load.sh confirm from a new connection.",
            undo="sh load.sh undo.",
            checked_by="sh -n {file}",
        )
        if any(names for _, _, names in rules.sets):
            yield Written(
                path="firewall/fill-sets.sh",
                content=script(head(office, as_of, FILL_HEAD), FILL + parties(rules)).encode(),
                what="Fills the sets of those parties whose addresses move, from what their names answer.",
                goes="On the firewall, in /etc/office-firewall beside rules.nft; run every five minutes.",
                load="sh fill-sets.sh, once by hand; then by cron or a timer.",
                undo="Take its line out of cron; the sets stay as they are until the rules are loaded again.",
                checked_by="sh -n {file}",
            )


def script(opening: Sequence[str], body: str) -> str:
    """A shell script that says at its head what it is."""
    return "\n".join(["#!/bin/sh", *(f"# {line}".rstrip() for line in opening), body])


def parties(rules: RuleSet) -> str:
    """One call a party that has names: its slug, what is listed of it, its names. Raises FilesError."""
    calls = [
        f'party {slug(party, "party")} "{_listed(networks, IPV4)}" "{_listed(networks, IPV6)}" '
        + " ".join(host_name(name, party) for name in names)
        for party, networks, names in rules.sets
        if names
    ]
    return "\n".join([*calls, 'exit "$failed"', ""])


def _listed(networks: Sequence[Net], family: int) -> str:
    return " ".join(address(network) for network in of_family(networks, family))
