## What any document says.

# Kinds of documents, as their headings.
quote = Nabídka
partner-sheet = List pro partnera
office-sheet = Interní kalkulace
bench-sheet = Pracovní list
invoice = Faktura
credit-note = Opravný daňový doklad

# The head.
number = Číslo
revision = Verze
reference = Značka
edition = Vydání ceníku
date = Datum
page = Strana { $page } z { $pages }
received = Přijato dne
valid-until = Platí do
dispatch = Odeslání
tax-date = DUZP
internal = Interní, neodesílat
currency = Měna

# A document that no longer stands.
reversed = Storno: tento doklad ruší nabídku { $number }.
draft = Návrh: tato nabídka ještě nemá číslo a nebyla vystavena.
superseded = Nahrazeno: platí pozdější verze této nabídky.

# Parties.
seller = Prodávající
buyer = Kupující
customer = Zákazník
partner = Partner
workshop = Servis
work-done-by = Práce provádí { $workshop }.
vat-id = DIČ
phone = Telefon
email = E‑mail
web = Web
managing-directors = Jednatelé

# Units.
serial = Výrobní číslo
task = Zakázka
task-refresh = Oprava a preventivní obnova
task-exchange = Výměnná jednotka
task-decline = Vráceno bez opravy

# Columns of tables.
description = Popis
quantity = Množství
position = Pozice
code = Kód
net = Bez DPH
vat = DPH
rate = Sazba
base = Základ daně
tax = Výše daně
gross = S DPH

# How much.
days = { $count }{"\u00A0"}{ $count ->
    [one] den
    [few] dny
    [many] dne
   *[other] dnů
}
cycles = { $count }{"\u00A0"}{ $count ->
    [one] pracovní cyklus
    [few] pracovní cykly
    [many] pracovního cyklu
   *[other] pracovních cyklů
}
unit-pc = ks
unit-set = { $count ->
    [one] sada
    [few] sady
    [many] sady
   *[other] sad
}
unit-m = m
unit-cm = cm
unit-ml = ml
unit-g = g
unit-min = min
unit-h = h

# Why no VAT is charged.
vat-reverse-charge = Daň odvede zákazník
vat-intra-community = Dodání zboží do jiného členského státu, osvobozeno podle článku 138 směrnice 2006/112/ES
vat-export = Vývoz zboží, osvobozeno od DPH
vat-not-subject = V zemi prodávajícího nepodléhá DPH
vat-charged = DPH { $rate }

# What somebody should know. Words for a partner or a customer alone stand with those of his sheet.
notes = Poznámky
flag-uneconomic = Oprava stojí více než ceníkem stanovený podíl z ceny nového zařízení.
flag-under-floor = Z konečné ceny zbývá méně než minimální příspěvek na úhradu.
flag-shares-scaled = Podíly partnerů byly kráceny, aby servisu zůstalo stanovené minimum.
flag-wear-unknown = Díly, jejichž stáří nebo opotřebení nebylo možné zjistit, se považují za opotřebené.
flag-under-warranty = Práce jsou bezplatné v rámci záruky z dřívější zakázky.
flag-vat-not-known = Pro zemi koncového zákazníka není známa sazba DPH.
flag-goods-in-chain = Zboží překračuje hranici v řetězci prodejců: DPH každého prodeje je třeba nechat potvrdit.
flag-several-invoices = Prodej vyžaduje dvě faktury: co nepodléhá DPH, je na samostatné.

# Of lines and figures.
taken-back = Stornováno: tato nabídka byla vzata zpět.
whole-job = Celá zakázka
vat-category = Kategorie
rounding-half-up = zaokrouhleno aritmeticky
rounding-largest-remainder = rozděleno podle největších zbytků
rounding-ending = upraveno na cenový krok

# What is put together of parts.
labelled = { $label }: { $text }
both = { $first }; { $next }
