## Cautions. What stands here is said by any workshop; its letterhead can add to it.

cautions = Consignes de sécurité
caution-mains = Tension secteur. Séparer la machine du réseau, la condamner et vérifier l’absence de tension avant d’ouvrir l’armoire. Seules des personnes habilitées en électricité peuvent déposer, remonter ou essayer l’appareil.
caution-charge = Charge résiduelle. Les condensateurs restent dangereusement chargés après la coupure. Attendre le temps de décharge indiqué sur l’appareil et mesurer avant tout contact.
caution-start = Démarrage intempestif. La machine peut démarrer d’elle-même à la remise sous tension de sa commande. Personne ne doit se trouver dans la zone dangereuse avant la fin de la mise en service.
caution-safety = Fonctions de sécurité. Après le remontage, les fonctions de sécurité de la machine entière doivent être validées et consignées par ceux qui en sont responsables (ISO 13849-2). L’essai sur le banc de l’atelier n’en tient pas lieu.
caution-static = Décharges électrostatiques. Les cartes y sont sensibles : travailler à un poste relié à la terre avec un bracelet antistatique et ne les transporter qu’en sachets de blindage.
