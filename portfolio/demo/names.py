"""Names for children who do not exist: given and family names of many languages, drawn apart from each other.

Common names of their languages, from memory, no source. The pairs are drawn by chance, so that no pair stands for
a person; names that are also everyday English words are left out, since the name sweep would find the word.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

GIVEN = (
    *("Amara", "Chidi", "Ngozi", "Ifeoma", "Kwame", "Abena", "Kofi", "Zola", "Thabo", "Naledi", "Ayodele", "Yetunde"),
    *("Mateo", "Lucía", "Ximena", "Joaquín", "Camila", "Santiago", "Valentina", "Andrés", "Inés", "Rocío", "Emiliano"),
    *("Thảo", "Minh", "Linh", "Quang", "Hương", "Đức", "Mei", "Jun", "Xiuying", "Haoran", "Yuki", "Sora", "Haruto"),
    *("Ji-woo", "Seo-yeon", "Min-jun", "Priya", "Arjun", "Kavya", "Rohan", "Ananya", "Vikram", "Meera", "Ishaan"),
    *("Fatima", "Yusuf", "Layla", "Omar", "Zaynab", "Idris", "Samira", "Tariq", "Noor", "Bilal", "Dilnoza", "Timur"),
    *("Oksana", "Taras", "Zofia", "Wojciech", "Łucja", "Katya", "Mikhail", "Anneke", "Sander", "Freya", "Bjørn"),
    *("Siobhán", "Cormac", "Aoife", "Rhys", "Carys", "Élodie", "Thibault", "Margaux", "Giulia", "Luca", "Chiara"),
    *("Eleni", "Stavros", "Νίκος", "Leilani", "Keanu", "Kaʻiulani", "Malia", "Tama", "Aroha", "Wiremu", "Sefina"),
    *("Atsa", "Haseya", "Koda", "Winona", "Hannah", "Caleb", "Naomi", "Ezra", "Delphine", "Marcus", "Keisha", "Tyrone"),
    *("Maeve", "Otis", "Beatrix", "Wendell", "Imogen", "Percival", "Dorothea", "Lionel", "Cordelia", "Barnaby"),
    *("يوسف", "ليلى", "आरव", "दीया", "Daud", "Siti", "Putri", "Bayu", "Anahí", "Nahuel", "Selin", "Emre", "Defne"),
)

FAMILY = (
    *("Okonkwo", "Adeyemi", "Mensah", "Boateng", "Dlamini", "Nkosi", "Abubakar", "Eze", "Owusu", "Diallo", "Traoré"),
    *("Hernández", "Quiñones", "Villanueva", "Ibáñez", "Echeverría", "Cisneros", "Zamora", "Peralta", "Ocampo"),
    *("Nguyễn", "Phạm", "Trịnh", "Đặng", "Zhang", "Huang", "Liu", "Nakamura", "Takahashi", "Inoue", "Kwon", "Baek"),
    *("Ramaswamy", "Chatterjee", "Deshpande", "Venkatesan", "Khatri", "Siddiqui", "Rahmani", "Karimov", "Yusupova"),
    *("Haddad", "Khoury", "Mansour", "El-Amin", "Abdi", "Warsame", "Tesfaye", "Bekele", "Kowalczyk", "Wiśniewska"),
    *("Shevchenko", "Kovalenko", "Petrov", "Novák", "Horváth", "Papadakis", "Oikonomou", "van Dijk", "de Groot"),
    *("Lindqvist", "Sørensen", "Halvorsen", "O'Sullivan", "Ó Briain", "Llewellyn", "Moreau", "Lefèvre", "Rossi"),
    *("Bianchi", "Kealoha", "Kahananui", "Tūhoe", "Parata", "Begaye", "Yazzie", "Whitehorse", "Thornbury", "Ashdown"),
    *("Pemberton", "Fairweather", "Okafor-Lindgren", "St. Clair", "MacAllister", "Washburn", "Hargreaves", "Yıldız"),
)


@dataclass(frozen=True, slots=True)
class PlainName:
    """A made-up child's name, before it is sealed by the roster import."""

    given: str
    family: str
    preferred: str = ""


def draw_names(count: int, *, seed: int) -> list[PlainName]:
    """``count`` different pairs. Two children may share a given name or a family name, as in any school."""
    chance = random.Random(seed)
    made: dict[tuple[str, str], PlainName] = {}
    while len(made) < count:
        given, family = chance.choice(GIVEN), chance.choice(FAMILY)
        preferred = given[:4] if len(given) > 6 and chance.random() < 0.12 else ""
        made.setdefault((given, family), PlainName(given, family, preferred))
    return list(made.values())
