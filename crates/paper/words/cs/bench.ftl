## The bench's sheet.

work-steps = Pracovní úkony
work-steps-note = V pořadí, v jakém jsou uvedeny v ceníku.
parts = Díly
parts-for-findings = K tomu, co bylo zjištěno
refresh-parts = Seznam obnovy: díly k výměně
test-programme = Zkušební program
bench-hours = Hodiny na zkušebním stanovišti
what-is-measured = Měřená veličina
measured = Naměřeno
set-value = Požadovaná hodnota
pass = Vyhovuje
fail = Nevyhovuje
initials = Iniciály
technician = Technik
signature = Podpis
remarks = Poznámky
no-work = Na tomto zařízení se nic neprovádí: vrací se, jak přišlo.
exchange-work = Odesílá se jiné zařízení téže řady; toto zůstává v servisu.
