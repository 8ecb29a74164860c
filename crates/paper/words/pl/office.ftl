## The office's sheet.

cost = Koszt
contribution = Marża pokrycia
workshop-net = Pozostaje serwisowi
share = Udział
route = Kanał sprzedaży
where-it-goes = Podział ceny końcowej
carried-by-partner = { $amount } ponosi partner
total = Razem
sales = Transakcje sprzedaży
refused-alternatives = Warianty, na które ten kanał sprzedaży nie pozwala
refused-by = Odrzucone na podstawie umowy z { $partner }
shares-agreed = Udziały według umów
shares-available = Dostępne na udziały
working = Obliczenia
working-of-others = Obliczenia samego zlecenia. Warianty oblicza się według tych samych reguł; pokazuje je „evenfare explain --offer”.
office-confidential = Tylko dla biura: zawiera koszty i udziały.
