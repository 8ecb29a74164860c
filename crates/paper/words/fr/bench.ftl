## The bench's sheet.

work-plan = Plan de travail
parts = Pièces
operations = Opérations
refresh-list = Liste de remplacement
test-programme = Programme d’essai
bench-hours = Heures de banc
measured = Valeur mesurée
set-value = Valeur de consigne
pass = Conforme
technician = Technicien
signature = Signature
remarks = Observations
no-work = Aucune intervention sur cet appareil : il repart en l’état.
exchange-work = Un autre appareil de la gamme est expédié ; celui-ci reste à l’atelier.
