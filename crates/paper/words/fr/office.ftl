## The office's sheet.

cost = Coût
contribution = Marge sur coûts
workshop-net = Revient à l’atelier
share = Part
route = Circuit de vente
where-it-goes = Répartition du prix final
carried-by-partner = { $amount } à la charge d’un partenaire
total = Total
sales = Ventes
refused-alternatives = Variantes que ce circuit de vente ne permet pas
refused-by = Refusé par l’accord avec { $partner }
shares-agreed = Parts convenues
shares-available = Disponible pour les parts
working = Détail du calcul
working-of-others = Détail du calcul de la commande elle-même. Les variantes se calculent selon les mêmes règles ; « evenfare explain --offer » les montre.
office-confidential = Réservé au bureau : contient les coûts et les parts.
