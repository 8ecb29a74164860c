## The partner's sheet.

end-price = Prix final HT
your-buy-price = Votre prix d’achat HT
your-share = Votre part HT
your-selling-price = Votre prix de vente HT
to-be-charged = Total à facturer à votre client
purchase = Achat
sale = Vente
partner-confidential = Cette fiche est destinée à { $partner } et non au client.
you-buy-from-head = Vous achetez à
you-sell-to-head = Vous vendez à
vat-of-purchase = TVA de votre achat
vat-of-sale = TVA de votre vente
vat-due-by-your-customer = Une TVA de { $rate } est due dans le pays de votre client, qui la déclare.
flag-shares-scaled-partner = Votre part a été réduite afin de préserver le minimum qui revient à l’atelier.
flag-goods-in-chain-partner = Des biens passent une frontière dans une chaîne de vendeurs : faites confirmer la TVA de votre achat et de votre vente.
flag-several-invoices-purchase = Votre achat exige deux factures : ce qui n’est pas soumis à la TVA figure sur une facture à part.
flag-several-invoices-sale = Votre vente exige deux factures : ce qui n’est pas soumis à la TVA figure sur une facture à part.
flag-several-invoices-partner = Votre achat et votre vente exigent chacun deux factures : ce qui n’est pas soumis à la TVA figure sur une facture à part.
