## The bench's sheet.

work-steps = Arbeitsschritte
work-steps-note = In der Reihenfolge des Tarifs.
parts = Teile
parts-for-findings = Zu den Befunden
refresh-parts = Erneuerungsliste: zu ersetzende Teile
test-programme = Prüfprogramm
bench-hours = Prüfstandsstunden
what-is-measured = Messgröße
measured = Istwert
set-value = Sollwert
pass = i. O.
fail = nicht i. O.
initials = Kürzel
technician = Techniker
signature = Unterschrift
remarks = Bemerkungen
no-work = An diesem Gerät wird nichts ausgeführt: Es geht zurück, wie es kam.
exchange-work = Ein anderes Gerät der Baureihe wird versandt; dieses bleibt hier.
