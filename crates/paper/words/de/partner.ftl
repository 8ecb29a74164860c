## The partner's sheet.

end-price = Endpreis netto
your-buy-price = Ihr Einkaufspreis netto
your-share = Ihr Anteil netto
your-selling-price = Ihr Verkaufspreis netto
to-be-charged = Ihrem Kunden insgesamt zu berechnen
purchase = Einkauf
sale = Verkauf
partner-confidential = Dieses Blatt ist für { $partner } bestimmt und nicht für den Kunden.
you-buy-from-head = Sie kaufen bei
you-sell-to-head = Sie verkaufen an
vat-of-purchase = Umsatzsteuer Ihres Einkaufs
vat-of-sale = Umsatzsteuer Ihres Verkaufs
vat-due-by-your-customer = Umsatzsteuer von { $rate } fällt im Land Ihres Kunden an und ist von ihm anzumelden.
flag-shares-scaled-partner = Ihr Anteil wurde gekürzt, damit die Untergrenze der Werkstatt gewahrt bleibt.
flag-goods-in-chain-partner = Waren überschreiten im Reihengeschäft eine Grenze: Bitte lassen Sie die umsatzsteuerliche Behandlung Ihres Einkaufs und Ihres Verkaufs bestätigen.
flag-several-invoices-purchase = Ihr Einkauf erfordert zwei Rechnungen: Nicht steuerbare Posten stehen auf einer eigenen.
flag-several-invoices-sale = Ihr Verkauf erfordert zwei Rechnungen: Nicht steuerbare Posten stehen auf einer eigenen.
flag-several-invoices-partner = Ihr Einkauf und Ihr Verkauf erfordern je zwei Rechnungen: Nicht steuerbare Posten stehen auf einer eigenen.
