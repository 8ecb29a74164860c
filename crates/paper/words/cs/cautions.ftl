## Cautions. What stands here is said by any workshop; its letterhead can add to it.

cautions = Bezpečnostní pokyny
caution-mains = Síťové napětí. Před otevřením rozváděče odpojte stroj od sítě, zajistěte jej proti opětovnému zapnutí a ověřte beznapěťový stav. Demontáž, montáž a zkoušky zařízení smějí provádět jen osoby s elektrotechnickou kvalifikací.
caution-charge = Zbytkový náboj. Kondenzátory zůstávají po odpojení nebezpečně nabité. Vyčkejte dobu vybíjení uvedenou na zařízení a před dotykem změřte napětí.
caution-start = Neočekávané spuštění. Po obnovení napájení řízení se stroj může sám rozběhnout. Do ukončení uvedení do provozu se v nebezpečném prostoru nesmí nikdo zdržovat.
caution-safety = Bezpečnostní funkce. Po zpětné montáži musí bezpečnostní funkce celého stroje validovat a zaznamenat ti, kdo za ně odpovídají (ISO 13849-2). Zkouška na stanovišti servisu to nenahrazuje.
caution-static = Statická elektřina. Desky plošných spojů jsou citlivé na elektrostatický výboj: pracujte na uzemněném pracovišti s náramkem a přepravujte je jen ve stínicích sáčcích.
