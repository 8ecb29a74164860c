## Invoice and credit note.

invoice-number = Numéro de facture
credit-note-number = Numéro d’avoir
issued-on = Date d’émission
due-on = Date d’échéance
supplied-on = Date de la prestation
quote-number = Devis
payment = Règlement
payable-within = Payable sous { $days ->
    [one] { $days } jour
   *[other] { $days } jours
}, sans escompte.
payable-at-once = Payable à réception, sans escompte.
amount-due = Net à payer
amount-credited = Montant crédité
account-holder = Titulaire du compte
bank = Banque
iban = IBAN
bic = BIC
payment-reference = Référence de paiement
takes-back = Cet avoir annule la facture { $number } du { $date }.
vat-breakdown = Ventilation de la TVA
your-order = Votre commande
your-vat-id = Votre n° de TVA
supply-planned = Expédition prévue le
unit-price = Prix unitaire HT
price-of-quantity = { $price } pour { $quantity }
exchange-for = Appareil d’échange : { $family }, en échange du numéro de série { $serial }
vat-national = TVA dans la monnaie du pays du vendeur : { $amount } ({ $rates }).
rate-of-euro = 1 EUR = { $rate } au { $date }
