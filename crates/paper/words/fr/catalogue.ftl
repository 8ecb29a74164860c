## What the engine itself says of lines and steps; everything else is in the workshop's own catalogue.

# Lines of the end price.
line-exchange = Échange standard
line-inspection = Expertise
line-leg-in = Transport vers l’atelier
line-leg-out = Transport retour
line-packaging = Emballage
line-minimum = Complément au montant minimal
line-ending = Ajustement au palier de prix

# What lines are for.
category-part = Pièces
category-labour = Main-d’œuvre
category-test = Essais
category-courier = Transport
category-flat = Forfait
category-exchange = Échange standard
category-inspection = Expertise
category-surcharge = Suppléments
category-minimum = Montant minimal
category-ending = Ajustement au palier de prix

# Why a step is there.
why-finding = Constat { $code }
why-always = Liste de remplacement : toujours
why-cycles = Liste de remplacement : à partir de { $cycles ->
    [one] { $cycles } cycle
   *[other] { $cycles } cycles
}
why-years = Liste de remplacement : à partir de { $years ->
    [one] { $years } an
   *[other] { $years } ans
}
why-wear = Liste de remplacement : à partir de { $share } de durée de vie consommée
why-not-known = { $why } ; inconnu, donc considéré comme échu
why-family = Essai prévu pour la gamme
