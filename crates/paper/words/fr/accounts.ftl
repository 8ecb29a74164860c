## Account statements and the overview of margins.

account-statement = Relevé de compte
account-statement-of = Relevé de compte pour { $month }
account = Compte
period = Période
provisional = Provisoire : ce mois n’est pas encore clôturé.
opening-balance = Solde initial
closing-balance = Solde final
movement = Opération
document = Pièce
charged = Facturé
credited = Réglé ou crédité
balance = Solde
nothing-moved = Ce compte n’a connu aucune opération ce mois-ci.
balance-ours = Solde en notre faveur : { $amount }
balance-yours = Solde en votre faveur : { $amount }
balance-none = Le compte est soldé.

# What is open at the end of the month.
open-items = Postes ouverts
due-date = Échéance
open-amount = Reste ouvert
open-advance = Acompte
open-later = Une écriture d’un mois ultérieur solde ou rectifie ce poste.

# What moved an account.
movement-invoice-corrected = Rectification de facture
movement-payment-returned = Règlement retourné
movement-payment-corrected = Correction d’un règlement
movement-bank-charges = Frais bancaires
movement-courier-bill = Facture du transporteur
movement-bonus = Remise de fin d’année
movement-bonus-less = Remise de fin d’année, régularisée
movement-bonus-paid = Remise de fin d’année, versée
movement-rounding = Arrondi passé en perte ou profit
entered-late = Du { $date } ; inscrit ici parce que ce mois-là était clôturé.

# Differences.
differences = Écarts
differences-asked = Rien de cette liste ne s’ajoute au solde ci-dessus. Merci de vérifier chaque point, puis de le corriger ou de nous répondre.
differences-note = Constatés en rapprochant devis, factures et règlements. Les montants sont ce qui a été constaté moins ce qui était convenu, sauf indication contraire.
what-differs = Objet de l’écart
difference = Écart
was-agreed = Convenu
was-found = Constaté
work-done = Travail effectué
reason-charged-more = Le client final a été facturé au-dessus du prix fixe.
reason-charged-less = Le client final a été facturé au-dessous du prix fixe.
reason-share-beyond = Le partenaire a été facturé moins que convenu, sa part est donc plus grande que convenu. Le montant concerne la part.
reason-share-below = Le partenaire a été facturé plus que convenu, sa part est donc plus petite que convenu. Le montant concerne la part.
reason-agreement-date = La part suit un accord qui n’était pas en vigueur ce jour-là. Le montant concerne la part.
reason-vat-category = La TVA est d’une autre catégorie que convenu. Le montant concerne la TVA.
reason-vat-rate = La TVA est à un autre taux que convenu. Le montant concerne la TVA.
reason-vat-amount = La TVA ne correspond pas à son taux. Le montant concerne la TVA.
reason-invoice-missing = Il n’y a pas de facture pour cette vente, bien que sa date soit passée.
reason-invoice-double = Il y a une deuxième facture pour cette vente.
reason-invoice-reversed = Il y a une facture pour une vente qui a été annulée.
reason-invoice-unknown = La facture ne correspond à aucun devis.
reason-invoice-other-party = La facture est adressée à un autre que l’acheteur prévu au devis.
reason-credit-other-party = L’avoir cite une facture ou un devis d’un tiers et n’en déduit rien.
reason-unpaid = La facture est échue et n’est pas réglée en totalité.
reason-overpaid = Le règlement dépasse le montant de la facture.
reason-overpaid-in-advance = Un acompte a été versé pour un devis qui a été annulé et doit être remboursé.
reason-payment-unknown = Un règlement est arrivé qui ne correspond à rien de connu.
reason-paid-unknown = Un paiement est sorti qui ne correspond à rien de connu.
reason-in-transit = De l’argent est allé d’un compte de l’atelier à un autre, et la contrepartie manque.
reason-courier = Le transporteur a facturé un autre montant que celui du devis.
reason-courier-unknown = Le transporteur a facturé un transport qui ne correspond à aucun devis.
reason-credit-for-our-work = Un crédit a été accordé pour un travail que l’atelier a effectué ou payé lui-même. Le montant est ce crédit.
reason-rounding = Les montants ne diffèrent que d’un arrondi admis.
reason-currency = La devise n’est pas celle convenue, ou le cours s’écarte trop du cours de référence.

# Work on site and carriage.
work-removal = Dépose
work-refitting = Repose
work-diagnosis = Diagnostic

# Volume bonuses.
bonus-of-year = Remise de fin d’année { $year }
bonus-turnover = Chiffre d’affaires de l’année à ce jour, HT
bonus-step = Palier atteint
bonus-due = Remise à ce jour
bonus-this-month = Dont ce mois-ci
bonus-trued-up = Dont régularisation des mois précédents
bonus-missing = Manque jusqu’au palier suivant : { $percent } à partir de { $amount }

# The overview.
margin-overview = Vue d’ensemble des marges
until-day = (convenu, à facturer jusqu’au { $date })
all-quotes = Tous les devis
quotes = Devis
end-prices = Prix finaux
partners-shares = Parts des partenaires
by-partner = Par partenaire
by-family = Par gamme
by-route = Par circuit de vente
over-time = Dans le temps
invoiced = Facturé, HT
to-be-invoiced = À facturer
all-months = Tous les mois
invoiced-note = À facturer : ce que l’atelier garde des devis convenus, au mois avant la fin duquel ils sont à facturer ; facturé : ce qui est passé en produits, hors taxes.
direct-route = Direct
family = Gamme
month = Mois
bars-of-shares = Les barres montrent ce que garde chaque partenaire. Un devis passant par deux partenaires compte pour les deux.
bars-of-contribution = Les barres montrent la marge sur coûts : ce qui reste à l’atelier au-delà de ses coûts.
largest-only = Seuls les { $count } plus grands montants sont montrés.
last-months = Le graphique montre les { $count } derniers mois.
nothing-agreed = Aucun devis accepté n’était à facturer jusqu’au { $date }.

# What changed under closed months.
changed-since = Modifié depuis la clôture
changed-note = Ce que contiennent les mois clôturés, et ce que l’on sait maintenant. Sur les comptes, un débit est au-dessus de zéro, un crédit au-dessous.
changed-gone = Disparu : la pièce n’existe plus
changed-different = Modifié : la pièce ne dit plus ce qu’elle disait
changed-late = Tardif : la pièce d’un mois clôturé n’était pas encore là
changed-follows = Conséquence : aucune pièce propre n’a changé, mais ce à quoi elle se rapporte ou ce sur quoi elle repose
changed-of = de { $closed }, mois clôturé ; compte au { $date }
changed-account = { $account } : { $month } a été clôturé avec le compte { $was } ; c’est maintenant { $is }. Les mois clôturés gardent le leur.
how-it-changed = Nature du changement
closed-month = Mois clôturé
counts-for = Compte au
party = Tiers
amount-of = Montant
was = Avant
is-now = Maintenant
changed-by = Variation
account-receivable = Créances sur partenaires et clients
account-revenue = Produits des réparations
account-vat-payable = TVA facturée
account-bank = Banque
account-bank-charges = Frais bancaires
account-exchange = Différences de change
account-unapplied = Règlements non encore affectés
account-clearing = Compte de liaison avec le reste de la comptabilité
account-courier-cost = Frais de transport
account-courier-payable = Dettes envers les transporteurs
account-bonus = Remises de fin d’année
account-bonus-payable = Remises dues aux partenaires
account-rounding = Différences d’arrondi
account-transit = Virements entre comptes propres
