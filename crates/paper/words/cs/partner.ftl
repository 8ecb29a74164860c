## The partner's sheet.

end-price = Konečná cena
your-buy-price = Vaše nákupní cena
your-share = Váš podíl
your-selling-price = Vaše prodejní cena
to-be-charged = Účtovat vašemu zákazníkovi
purchase = Nákup
sale = Prodej
partner-confidential = Tento list je určen pro { $partner }, nikoli pro zákazníka.
you-buy-from-head = Kupujete od
you-sell-to-head = Prodáváte komu
vat-of-purchase = DPH vašeho nákupu
vat-of-sale = DPH vašeho prodeje
vat-due-by-your-customer = DPH ve výši { $rate } je splatná v zemi vašeho zákazníka a přiznává ji on.
flag-shares-scaled-partner = Váš podíl byl krácen, aby servisu zůstalo stanovené minimum.
flag-goods-in-chain-partner = Zboží překračuje hranici v řetězci prodejců: DPH svého nákupu i prodeje si nechte potvrdit.
