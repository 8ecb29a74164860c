## The end customer's quote.

found = Constat
done = Pièces à remplacer et travaux à exécuter
why = Motif
in-all = { $quantity } en tout
price = Prix
alternatives = Variantes
alternative = Variante : { $name }
main-offer = Offre de base
alternatives-note = Une seule de ces variantes peut être acceptée ; les autres deviennent alors caduques.
choose = Veuillez cocher la variante retenue.
alternatives-differ = Ci-dessous figure ce que chacune change par rapport à l’offre de base. Tout le reste est identique.
other-way = Variante
found-further = Constaté ou demandé en plus
lines-as-quoted = Toutes les autres lignes, comme dans l’offre de base
lines-left-out = Lignes de l’offre de base supprimées
net-total = Total HT
gross-total = Montant total
vat-due-by-buyer = Une TVA de { $rate } est due dans votre pays ; il vous appartient de la déclarer.
vat-note = Le traitement de TVA indiqué résulte de ce que nous savons du vendeur, de l’acheteur et de la prestation ; il doit être confirmé par un conseiller fiscal agréé.
warranty = Garantie
warranty-months = Garantie du { $from } au { $until }.
warranty-cycles = Elle prend fin plus tôt après { $cycles ->
    [one] { $cycles } cycle compté
   *[other] { $cycles } cycles comptés
} à partir du { $from }.
warranty-excludes = Exclu de la garantie : { $excluded }.
warranty-none = Aucune garantie n’est accordée pour un appareil retourné en l’état.
warranty-as-quoted = Comme indiqué plus haut pour l’offre de base.
warranty-open = Retour sous la garantie du devis { $quote }, valable jusqu’au { $until }.
warranty-cycles-left = { $cycles ->
    [one] Il en reste { $cycles } cycle.
   *[other] Il en reste { $cycles } cycles.
}
validity = Validité
validity-text = Ce devis peut être accepté jusqu’au { $date }.
delivery = Livraison
acceptance = Acceptation
acceptance-text = Nous acceptons le devis et commandons les travaux.
place-and-date = Lieu et date
name-and-signature = Nom et signature
work = Constat et travaux
alternative-head = Variante
warranty-until = Garantie jusqu’au { $until }
flag-vat-not-known-customer = Aucun taux de TVA ne nous est connu pour votre pays.
flag-goods-in-chain-customer = Des biens passent une frontière dans une chaîne de vendeurs : faites confirmer la TVA de votre achat.
