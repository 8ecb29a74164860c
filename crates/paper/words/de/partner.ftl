## The partner's sheet.

end-price = Endpreis
your-buy-price = Ihr Einkaufspreis
your-share = Ihr Anteil
your-selling-price = Ihr Verkaufspreis
to-be-charged = Ihrem Kunden zu berechnen
purchase = Einkauf
sale = Verkauf
partner-confidential = Dieses Blatt ist für { $partner } bestimmt und nicht für den Kunden.
you-buy-from-head = Sie kaufen von
you-sell-to-head = Sie verkaufen an
vat-of-purchase = Umsatzsteuer Ihres Einkaufs
vat-of-sale = Umsatzsteuer Ihres Verkaufs
vat-due-by-your-customer = Umsatzsteuer von { $rate } fällt im Land Ihres Kunden an und ist von ihm anzumelden.
flag-shares-scaled-partner = Ihr Anteil wurde gekürzt, damit die Untergrenze der Werkstatt gewahrt bleibt.
flag-goods-in-chain-partner = Waren überschreiten im Reihengeschäft eine Grenze: Bitte lassen Sie die umsatzsteuerliche Behandlung Ihres Einkaufs und Ihres Verkaufs bestätigen.
