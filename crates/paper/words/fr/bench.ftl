## The bench's sheet.

work-steps = Étapes de travail
work-steps-note = Dans l’ordre du tarif.
parts = Pièces
parts-for-findings = Pour ce qui a été constaté
refresh-parts = Liste de remplacement : pièces à remplacer
test-programme = Programme d’essai
bench-hours = Heures de banc
what-is-measured = Grandeur mesurée
measured = Valeur mesurée
set-value = Valeur de consigne
pass = Conforme
fail = Non conforme
initials = Paraphe
technician = Technicien
signature = Signature
remarks = Observations
no-work = Aucune intervention sur cet appareil : il repart en l’état.
exchange-work = Un autre appareil de la gamme est expédié ; celui-ci reste à l’atelier.
