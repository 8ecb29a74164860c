## What any document says.

# Kinds of documents, as their headings.
quote = Devis
partner-sheet = Fiche partenaire
office-sheet = Fiche interne de calcul
bench-sheet = Fiche d’atelier
invoice = Facture
credit-note = Avoir

# The head.
number = Numéro
revision = Révision
reference = Référence
edition = Édition du tarif
date = Date
page = Page { $page } sur { $pages }
received = Reçu le
valid-until = Valable jusqu’au
dispatch = Expédition
tax-date = Exigibilité de la TVA
internal = Document interne, ne pas envoyer
currency = Devise

# A document that no longer stands.
reversed = Annulation : ce document annule le devis { $number }.
draft = Projet : ce devis n’a pas encore de numéro et n’a pas été émis.
superseded = Remplacé : une révision plus récente de ce devis est en vigueur.

# Parties.
seller = Vendeur
buyer = Acheteur
customer = Client
partner = Partenaire
workshop = Atelier
work-done-by = Les travaux sont exécutés par { $workshop }.
vat-id = N° de TVA
phone = Téléphone
email = Courriel
web = Site web
managing-directors = Direction

# Units.
serial = Numéro de série
task = Prestation
task-refresh = Réparation et remise à niveau
task-exchange = Échange standard
task-decline = Retour en l’état

# Columns of tables.
description = Désignation
quantity = Quantité
position = Repère
code = Code
net = Montant HT
vat = TVA
rate = Taux
base = Base d’imposition
tax = Montant de la TVA
gross = Montant total

# How much.
days = { $count }{"\u00A0"}{ $count ->
    [one] jour
   *[other] jours
}
cycles = { $count }{"\u00A0"}{ $count ->
    [one] cycle
   *[other] cycles
}
unit-pc = pce
unit-set = { $count ->
    [one] jeu
   *[other] jeux
}
unit-m = m
unit-cm = cm
unit-ml = ml
unit-g = g
unit-min = min
unit-h = h

# Why no VAT is charged.
vat-reverse-charge = Autoliquidation
vat-intra-community = Livraison intracommunautaire, exonérée en vertu de l’article 138 de la directive 2006/112/CE
vat-export = Exportation de biens, exonérée de TVA
vat-not-subject = Non soumis à la TVA dans le pays du vendeur
vat-charged = TVA { $rate }

# What somebody should know. Words for a partner or a customer alone stand with those of his sheet.
notes = Remarques
flag-uneconomic = La réparation coûte plus que la part de la valeur à neuf fixée par le tarif.
flag-under-floor = Le prix final laisse moins que la marge minimale sur coûts.
flag-shares-scaled = Les parts des partenaires ont été réduites afin de préserver le minimum qui revient à l’atelier.
flag-wear-unknown = Les pièces dont l’âge ou l’usure n’ont pu être relevés sont considérées comme usées.
flag-under-warranty = Les travaux sont gratuits au titre de la garantie d’une intervention antérieure.
flag-vat-not-known = Aucun taux de TVA n’est connu pour le pays du client final.
flag-goods-in-chain = Des biens passent une frontière dans une chaîne de vendeurs : faire confirmer la TVA de chaque vente.
flag-several-invoices = Une vente exige deux factures : ce qui n’est pas soumis à la TVA figure sur une facture à part.

# Of lines and figures.
taken-back = Annulé : ce devis a été retiré.
whole-job = Ensemble de la commande
vat-category = Catégorie
rounding-half-up = arrondi au plus proche
rounding-largest-remainder = réparti au plus fort reste
rounding-ending = ramené au palier de prix

# What is put together of parts.
labelled = { $label } : { $text }
both = { $first } ; { $next }
