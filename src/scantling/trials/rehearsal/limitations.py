"""What no rehearsal on one machine shows, or of which nothing is planned yet; said on every page."""

NEVER = (
    "VLAN tags: one bridge stands for each VLAN, and the tag is kept as data.",
    "Radio: ranges, roaming, and who hears what.",
    "Delay and loss on lines and cables.",
    "How fast the real boxes, drivers and disks are: a kernel passes packets between namespaces far faster.",
    "Who may read which folder, and logging in: no rights and no directory are planned yet.",
    "A standby line taking over by itself: nothing is planned of that yet.",
    "What is wrong with the plan itself: scantling plan tells its findings.",
)
