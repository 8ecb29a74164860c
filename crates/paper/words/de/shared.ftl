## What any document says.

# Kinds of documents, as their headings.
quote = Angebot
partner-sheet = Partnerblatt
office-sheet = Interne Kalkulation
bench-sheet = Arbeitsblatt
invoice = Rechnung
credit-note = Rechnungskorrektur

# The head.
number = Nummer
revision = Fassung
reference = Zeichen
edition = Tarifausgabe
date = Datum
page = Seite { $page } von { $pages }
received = Eingang
valid-until = Gültig bis
dispatch = Versand
tax-date = Steuerlicher Stichtag
internal = Intern, nicht zum Versand
currency = Währung

# A document that no longer stands.
reversed = Storno: Dieses Dokument nimmt Angebot { $number } zurück.
draft = Entwurf: Dieses Angebot hat noch keine Nummer und wurde nicht ausgestellt.
superseded = Überholt: Es gilt eine spätere Fassung dieses Angebots.

# Parties.
seller = Verkäufer
buyer = Käufer
customer = Kunde
partner = Partner
workshop = Werkstatt
work-done-by = Ausführung der Arbeiten: { $workshop }.
vat-id = USt‑IdNr.
phone = Telefon
email = E‑Mail
web = Internet
managing-directors = Geschäftsführung

# Units.
serial = Seriennummer
task = Auftrag
task-refresh = Reparatur mit vorbeugender Erneuerung
task-exchange = Austauschgerät
task-decline = Unrepariert zurück

# Columns of tables.
description = Beschreibung
quantity = Menge
position = Position
code = Code
net = Netto
vat = USt.
rate = Satz
base = Bemessungsgrundlage
tax = Steuerbetrag
gross = Brutto

# How much.
days = { $count }{"\u00A0"}{ $count ->
    [one] Tag
   *[other] Tage
}
cycles = { $count }{"\u00A0"}{ $count ->
    [one] Schaltspiel
   *[other] Schaltspiele
}
unit-pc = Stk.
unit-set = { $count ->
    [one] Satz
   *[other] Sätze
}
unit-m = m
unit-cm = cm
unit-ml = ml
unit-g = g
unit-min = min
unit-h = h

# Why no VAT is charged.
vat-reverse-charge = Steuerschuldnerschaft des Leistungsempfängers
vat-intra-community = Innergemeinschaftliche Lieferung, steuerfrei nach Artikel 138 der Richtlinie 2006/112/EG
vat-export = Ausfuhrlieferung, steuerfrei
vat-not-subject = Im Land des Verkäufers nicht steuerbar
vat-charged = USt. { $rate }

# What somebody should know. Words for a partner or a customer alone stand with those of his sheet.
notes = Hinweise
flag-uneconomic = Die Reparatur kostet mehr als den im Tarif festgelegten Anteil am Neuwert.
flag-under-floor = Vom Endpreis bleibt weniger als der Mindestdeckungsbeitrag.
flag-shares-scaled = Die Anteile der Partner wurden gekürzt, damit die Untergrenze der Werkstatt gewahrt bleibt.
flag-wear-unknown = Teile, deren Alter oder Abnutzung sich nicht ablesen ließ, gelten als verschlissen.
flag-under-warranty = Arbeiten sind durch die Gewährleistung eines früheren Auftrags gedeckt und kostenfrei.
flag-vat-not-known = Für das Land des Endkunden ist kein Umsatzsteuersatz bekannt.
flag-goods-in-chain = Waren überschreiten im Reihengeschäft eine Grenze: Die umsatzsteuerliche Behandlung jedes Verkaufs ist zu bestätigen.
flag-several-invoices = Ein Verkauf erfordert zwei Rechnungen: Nicht steuerbare Posten stehen auf einer eigenen.

# Of lines and figures.
taken-back = Storniert: Dieses Angebot wurde zurückgenommen.
whole-job = Gesamter Auftrag
vat-category = Kategorie
rounding-half-up = kaufmännisch gerundet
rounding-largest-remainder = nach größten Resten verteilt
rounding-ending = auf den Preisschritt gebracht

# What is put together of parts.
labelled = { $label }: { $text }
both = { $first }; { $next }
