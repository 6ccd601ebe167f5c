"""Who belongs to the invented house. Nobody here exists."""

from __future__ import annotations

from darkroom.models import Member, Role

DOMAIN = "saltmarsh.example"

PEOPLE: tuple[tuple[str, str, Role], ...] = (
    ("Ingrid Halvorsmoen", "ingrid", Role.ADMINISTRATOR),
    ("Tomasz Wilczkowiak", "tomasz", Role.AUDITOR),
    ("Marisol Etxebarrena", "marisol", Role.STEWARD),
    ("Kwabena Asiedu-Mills", "kwabena", Role.STEWARD),
    ("Noor Haddadine", "noor", Role.STEWARD),
    ("Bea Fontaine-Reyes", "bea", Role.MEMBER),
    ("Caoimhe Dunlevy", "caoimhe", Role.MEMBER),
    ("Dov Perlsteiner", "dov", Role.MEMBER),
    ("Emeka Nwosu-Bright", "emeka", Role.MEMBER),
    ("Farida Yusupzoda", "farida", Role.MEMBER),
    ("Gwilym Prosserch", "gwilym", Role.MEMBER),
    ("Hana Mizushiro", "hana", Role.MEMBER),
    ("Iñigo Larrabeitia", "inigo", Role.MEMBER),
    ("Jasper Okonjovi", "jasper", Role.MEMBER),
    ("Kirsi Vaarankoski", "kirsi", Role.MEMBER),
    ("Leilani Kahueloa", "leilani", Role.MEMBER),
    ("Miloš Jevrosimov", "milos", Role.MEMBER),
    ("Nandini Raghavelu", "nandini", Role.MEMBER),
    ("Oskar Brandvoll", "oskar", Role.MEMBER),
    ("Padma Thirunesan", "padma", Role.MEMBER),
    ("Quang Doan-Leroux", "quang", Role.MEMBER),
    ("Rosalind Akersley", "rosalind", Role.MEMBER),
    ("Sefa Tuitamaleo", "sefa", Role.MEMBER),
    ("Tariq Benmoussara", "tariq", Role.MEMBER),
    ("Ulla Jokumsgaard", "ulla", Role.MEMBER),
    ("Vesna Kolarovec", "vesna", Role.MEMBER),
    ("Wanjiru Mbogori", "wanjiru", Role.MEMBER),
    ("Xochitl Barriondo", "xochitl", Role.MEMBER),
    ("Yusuf Demirkoylu", "yusuf", Role.MEMBER),
)


def admit_people() -> dict[str, Member]:
    """Everybody by the first part of their address; nobody has a password."""
    return {
        handle: Member.objects.create_member(email=f"{handle}@{DOMAIN}", name=name, role=role)
        for name, handle, role in PEOPLE
    }
