"""Titles of the ATA 100 chapters, in short words of our own. Only the numbers are ATA's."""

from __future__ import annotations

CHAPTERS = {
    "21": "Air conditioning",
    "22": "Auto flight",
    "23": "Communications",
    "24": "Electrical power",
    "25": "Cabin equipment",
    "26": "Fire protection",
    "27": "Flight controls",
    "28": "Fuel",
    "29": "Hydraulics",
    "30": "Ice and rain",
    "31": "Indicating and recording",
    "32": "Landing gear",
    "33": "Lights",
    "34": "Navigation",
    "35": "Oxygen",
    "36": "Pneumatics",
    "37": "Vacuum",
    "38": "Water and waste",
    "39": "Panels",
    "44": "Cabin systems",
    "45": "Maintenance systems",
    "46": "Information systems",
    "49": "Auxiliary power",
    "52": "Doors",
    "56": "Windows",
    "61": "Propellers",
    "71": "Powerplant",
    "72": "Engine",
    "73": "Engine fuel and control",
    "74": "Ignition",
    "75": "Engine air",
    "76": "Engine controls",
    "77": "Engine indicating",
    "78": "Exhaust",
    "79": "Engine oil",
    "80": "Starting",
    "82": "Water injection",
}


def chapter(ata: str) -> str:
    """The chapter of an ATA number: `23` of `23-12-01`."""
    return ata[:2]


def chapter_title(number: str) -> str:
    """A chapter's number and title.

    >>> chapter_title("23")
    '23 Communications'
    """
    return f"{number} {CHAPTERS[number]}" if number in CHAPTERS else f"Chapter {number}"
