## The partner's sheet.

end-price = Konečná cena bez DPH
your-buy-price = Vaše nákupní cena bez DPH
your-share = Váš podíl bez DPH
your-selling-price = Vaše prodejní cena bez DPH
to-be-charged = Celkem k vyúčtování vašemu zákazníkovi
purchase = Nákup
sale = Prodej
partner-confidential = Tento list je určen firmě { $partner }, nikoli zákazníkovi.
you-buy-from-head = Váš dodavatel
you-sell-to-head = Váš odběratel
vat-of-purchase = DPH vašeho nákupu
vat-of-sale = DPH vašeho prodeje
vat-due-by-your-customer = DPH ve výši { $rate } je splatná v zemi vašeho zákazníka a přiznává ji on.
flag-shares-scaled-partner = Váš podíl byl krácen, aby servisu zůstalo stanovené minimum.
flag-goods-in-chain-partner = Zboží překračuje hranici v řetězci prodejců: DPH svého nákupu i prodeje si nechte potvrdit.
flag-several-invoices-purchase = Váš nákup vyžaduje dvě faktury: co nepodléhá DPH, je na samostatné.
flag-several-invoices-sale = Váš prodej vyžaduje dvě faktury: co nepodléhá DPH, je na samostatné.
flag-several-invoices-partner = Váš nákup i prodej vyžadují po dvou fakturách: co nepodléhá DPH, je na samostatné.
