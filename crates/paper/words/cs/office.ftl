## The office's sheet.

cost = Náklady
contribution = Příspěvek na úhradu
workshop-net = Zůstává servisu
share = Podíl
route = Prodejní kanál
where-it-goes = Rozdělení konečné ceny
carried-by-partner = { $amount } hradí partner
total = Celkem
sales = Prodeje
refused-alternatives = Varianty, které tento prodejní kanál neumožňuje
refused-by = Odmítnuto podle dohody s { $partner }
shares-agreed = Podíly podle dohod
shares-available = K dispozici na podíly
working = Postup výpočtu
working-of-others = Postup výpočtu samotné zakázky. Varianty se počítají podle stejných pravidel; ukáže je „evenfare explain --offer“.
office-confidential = Jen pro kancelář: obsahuje náklady a podíly.
