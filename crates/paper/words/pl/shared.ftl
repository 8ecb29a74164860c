## What any document says.

# Kinds of documents, as their headings.
quote = Oferta
partner-sheet = Karta partnera
office-sheet = Kalkulacja wewnętrzna
bench-sheet = Karta pracy
invoice = Faktura
credit-note = Faktura korygująca

# The head.
number = Numer
revision = Wersja
reference = Znak
edition = Wydanie cennika
date = Data
page = Strona { $page } z { $pages }
received = Data przyjęcia
valid-until = Ważna do
dispatch = Wysyłka
tax-date = Obowiązek podatkowy
internal = Dokument wewnętrzny, nie wysyłać
currency = Waluta

# A document that no longer stands.
reversed = Storno: ten dokument wycofuje ofertę { $number }.
draft = Projekt: ta oferta nie ma jeszcze numeru i nie została wystawiona.
superseded = Nieaktualna: obowiązuje późniejsza wersja tej oferty.

# Parties.
seller = Sprzedawca
buyer = Nabywca
customer = Klient
partner = Partner
workshop = Serwis
work-done-by = Wykonawca prac: { $workshop }.
vat-id = Numer VAT
phone = Telefon
email = E‑mail
web = WWW
managing-directors = Zarząd

# Units.
serial = Numer seryjny
task = Zlecenie
task-refresh = Naprawa z wymianą prewencyjną
task-exchange = Urządzenie wymienne
task-decline = Zwrot bez naprawy

# Columns of tables.
description = Opis
quantity = Ilość
position = Pozycja
code = Kod
net = Netto
vat = VAT
rate = Stawka
base = Podstawa opodatkowania
tax = Kwota podatku
gross = Brutto

# How much.
days = { $count }{"\u00A0"}{ $count ->
    [one] dzień
   *[other] dni
}
cycles = { $count }{"\u00A0"}{ $count ->
    [one] cykl pracy
    [few] cykle pracy
    [many] cykli pracy
   *[other] cyklu pracy
}
unit-pc = szt.
unit-set = kpl.
unit-m = m
unit-cm = cm
unit-ml = ml
unit-g = g
unit-min = min
unit-h = h

# Why no VAT is charged.
vat-reverse-charge = Odwrotne obciążenie
vat-intra-community = Wewnątrzwspólnotowa dostawa towarów, zwolniona na podstawie art. 138 dyrektywy 2006/112/WE
vat-export = Eksport towarów, zwolniony z VAT
vat-not-subject = Nie podlega VAT w kraju sprzedawcy
vat-charged = VAT { $rate }

# What somebody should know. Words for a partner or a customer alone stand with those of his sheet.
notes = Uwagi
flag-uneconomic = Naprawa kosztuje więcej niż przewidziana w cenniku część wartości nowego urządzenia.
flag-under-floor = Z ceny końcowej pozostaje mniej niż minimalna marża pokrycia.
flag-shares-scaled = Udziały partnerów zmniejszono, aby zachować minimalną kwotę dla serwisu.
flag-wear-unknown = Części, których wieku lub zużycia nie dało się odczytać, uznaje się za zużyte.
flag-under-warranty = Prace są bezpłatne w ramach gwarancji z wcześniejszego zlecenia.
flag-vat-not-known = Stawka VAT w kraju klienta końcowego nie jest znana.
flag-goods-in-chain = Towary przekraczają granicę w łańcuchu sprzedawców: opodatkowanie VAT każdej sprzedaży wymaga potwierdzenia.
flag-several-invoices = Sprzedaż wymaga dwóch faktur: pozycje niepodlegające VAT umieszcza się na osobnej.

# Of lines and figures.
taken-back = Stornowana: ta oferta została wycofana.
whole-job = Całe zlecenie
vat-category = Kategoria
rounding-half-up = zaokrąglone arytmetycznie
rounding-largest-remainder = rozdzielone metodą największych reszt
rounding-ending = sprowadzone do końcówki ceny

# What is put together of parts.
labelled = { $label }: { $text }
both = { $first }; { $next }
