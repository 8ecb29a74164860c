## The bench's sheet.

work-plan = Arbeitsplan
parts = Teile
operations = Arbeitsgänge
refresh-list = Erneuerungsliste
test-programme = Prüfprogramm
bench-hours = Prüfstandsstunden
measured = Istwert
set-value = Sollwert
pass = i. O.
technician = Techniker
signature = Unterschrift
remarks = Bemerkungen
no-work = An diesem Gerät wird nichts ausgeführt: Es geht zurück, wie es kam.
exchange-work = Ein anderes Gerät der Baureihe wird versandt; dieses bleibt hier.
