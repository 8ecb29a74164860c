"""Makes other_writer.xlsx: the examples of FORMAT.md as somebody would type them, by another writer.

    pip install openpyxl==3.1.5
    python other_writer.py

Numbers are numbers, days are dates (by the calendar of 1904), yes and no are truth values.
"""

import datetime
import pathlib
import re

import openpyxl
from openpyxl.utils.datetime import CALENDAR_MAC_1904

here = pathlib.Path(__file__).parent
document = (here / "../../FORMAT.md").read_text(encoding="utf-8")
# Texts, although they look like numbers.
TEXTS = {"postcode", "postcode_prefix", "name", "street", "city", "vat_id", "id"}


def typed(name, text):
    if name in TEXTS or text == "":
        return text or None
    if re.fullmatch(r"-?\d+", text):
        return int(text)
    if re.fullmatch(r"-?\d+\.\d+", text):
        return float(text)
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        return datetime.date.fromisoformat(text)
    return {"yes": True, "no": False}.get(text, text)


def cells(line):
    parts = re.findall(r'(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))', line)
    return [quoted.replace('""', '"') or plain for quoted, plain in parts]


book = openpyxl.Workbook()
book.epoch = CALENDAR_MAC_1904
book.remove(book.active)
for section in document.split("\n## `")[1:]:
    name, rest = section.split("`", 1)
    example = rest.split("\n```")[1].split("\n", 1)[1].strip()
    sheet = book.create_sheet(name.removesuffix(".csv"))
    if name.endswith(".toml"):
        for line in example.splitlines():
            if " = " not in line:
                sheet.append([line or None])
                continue
            key, value = line.split(" = ", 1)
            value = re.sub(r'[\["\]]', "", value).replace(", ", " ")
            sheet.append([key, typed(key, value)])
        continue
    sheet.append([f"# {name}"])
    header, *rows = map(cells, example.splitlines())
    sheet.append(header)
    for row in rows:
        sheet.append([typed(*pair) for pair in zip(header, row)])
book.save(here / "other_writer.xlsx")
