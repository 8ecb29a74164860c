## The end customer's quote.

found = Befund
done = Zu ersetzen und auszuführen
why = Grund
in-all = Insgesamt { $quantity }
price = Preis
alternatives = Alternativen
alternative = Alternative: { $name }
main-offer = Hauptangebot
alternatives-note = Eine dieser Ausführungen kann angenommen werden; die übrigen entfallen damit.
choose = Bitte kreuzen Sie die gewünschte Ausführung an.
alternatives-differ = Unten steht, was darin anders ist als im Hauptangebot. Alles Übrige bleibt gleich.
other-way = Alternative
found-further = Zusätzlich festgestellt oder gewünscht
lines-as-quoted = Alle übrigen Positionen wie im Hauptangebot
lines-left-out = Entfallende Positionen des Hauptangebots
net-total = Gesamtbetrag netto
gross-total = Gesamtbetrag
vat-due-by-buyer = Umsatzsteuer von { $rate } fällt in Ihrem Land an und ist von Ihnen anzumelden.
vat-note = Die angegebene umsatzsteuerliche Behandlung ergibt sich aus dem, was uns über Verkäufer, Käufer und Leistung bekannt ist; sie ist von einem zugelassenen Steuerberater zu bestätigen.
warranty = Gewährleistung
warranty-months = Gewährleistung vom { $from } bis zum { $until }.
warranty-cycles = Sie endet früher nach { $cycles ->
    [one] { $cycles } Schaltspiel
   *[other] { $cycles } Schaltspielen
} ab dem { $from }.
warranty-excludes = Von der Gewährleistung nicht gedeckt: { $excluded }.
warranty-none = Für ein unrepariert zurückgesandtes Gerät wird keine Gewährleistung übernommen.
warranty-as-quoted = Wie oben zum Hauptangebot angegeben.
warranty-open = Rücksendung innerhalb der Gewährleistung aus Angebot { $quote }, die bis zum { $until } läuft.
warranty-cycles-left = { $cycles ->
    [one] Davon verbleibt { $cycles } Schaltspiel.
   *[other] Davon verbleiben { $cycles } Schaltspiele.
}
validity = Gültigkeit
validity-text = Dieses Angebot kann bis zum { $date } angenommen werden.
delivery = Lieferung
acceptance = Annahme
acceptance-text = Wir nehmen das Angebot an und erteilen den Auftrag.
place-and-date = Ort und Datum
name-and-signature = Name und Unterschrift
work = Befund und Arbeiten
alternative-head = Ausführung
warranty-until = Gewährleistung bis { $until }
flag-vat-not-known-customer = Für Ihr Land ist uns kein Umsatzsteuersatz bekannt.
flag-goods-in-chain-customer = Waren überschreiten im Reihengeschäft eine Grenze: Bitte lassen Sie die umsatzsteuerliche Behandlung Ihres Einkaufs bestätigen.
