## The office's sheet.

cost = Náklady
costs = Nákladové položky
contribution = Příspěvek na úhradu
workshop-net = Zůstává servisu
share = Podíl
route = Prodejní cesta
where-it-goes = Rozdělení konečné ceny
carried-by-partner = hradí partner
sales = Prodeje
refused-alternatives = Varianty, které tato prodejní cesta neumožňuje
refused-by = Odmítnuto podle dohody s { $partner }
shares-agreed = Podíly podle dohod
shares-available = K dispozici na podíly
working = Postup výpočtu
figure = Veličina
exact = Přesná hodnota
office-confidential = Jen pro kancelář: obsahuje náklady a podíly.
