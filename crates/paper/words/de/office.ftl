## The office's sheet.

cost = Kosten
contribution = Deckungsbeitrag
workshop-net = Verbleibt der Werkstatt
share = Anteil
route = Vertriebsweg
where-it-goes = Wohin der Endpreis fließt
carried-by-partner = { $amount } trägt ein Partner
total = Summe
sales = Verkäufe
refused-alternatives = Alternativen, die dieser Vertriebsweg nicht trägt
refused-by = Abgelehnt durch die Vereinbarung mit { $partner }
shares-agreed = Vereinbarte Anteile
shares-available = Verfügbar für Anteile
working = Rechengang
working-of-others = Der Rechengang des Auftrags selbst. Alternativen werden nach denselben Regeln gerechnet; „evenfare explain --offer“ zeigt, wie.
office-confidential = Nur für das Büro: enthält Kosten und Anteile.
