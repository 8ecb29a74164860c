## Cautions. What stands here is said by any workshop; its letterhead can add to it.

cautions = Sicherheitshinweise
caution-mains = Netzspannung. Maschine vom Netz trennen, gegen Wiedereinschalten sichern und Spannungsfreiheit feststellen, bevor der Schaltschrank geöffnet wird. Nur Elektrofachkräfte dürfen das Gerät ausbauen, einbauen oder prüfen.
caution-charge = Gespeicherte Ladung. Kondensatoren bleiben nach dem Abschalten gefährlich geladen. Die auf dem Gerät angegebene Entladezeit abwarten und vor jeder Berührung messen.
caution-start = Unerwarteter Anlauf. Die Maschine kann von selbst anlaufen, sobald die Steuerung wieder Spannung hat. Bis zum Abschluss der Inbetriebnahme darf sich niemand im Gefahrenbereich aufhalten.
caution-safety = Sicherheitsfunktionen. Nach dem Einbau sind die Sicherheitsfunktionen der gesamten Maschine durch die dafür Verantwortlichen zu validieren und zu protokollieren (ISO 13849-2). Die Prüfung auf dem Prüfstand der Werkstatt ersetzt dies nicht.
caution-static = Elektrostatik. Leiterplatten sind empfindlich gegen elektrostatische Entladung: nur am geerdeten Arbeitsplatz mit Handgelenkband arbeiten und nur in abschirmenden Beuteln transportieren.
