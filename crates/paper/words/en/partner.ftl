## The partner's sheet.

end-price = End price, net
your-buy-price = Your buy price, net
your-share = Your share, net
your-selling-price = Your selling price, net
to-be-charged = Total to be charged to your customer
purchase = Purchase
sale = Sale
partner-confidential = This sheet is for { $partner } and not for the customer.
you-buy-from-head = You buy from
you-sell-to-head = You sell to
vat-of-purchase = VAT of your purchase
vat-of-sale = VAT of your sale
vat-due-by-your-customer = VAT of { $rate } is due in your customer’s country; your customer declares it.
flag-shares-scaled-partner = Your share was scaled down to keep the workshop’s minimum.
flag-goods-in-chain-partner = Goods cross a border through a chain of sellers: have the VAT of your purchase and of your sale confirmed.
flag-several-invoices-purchase = Your purchase needs two invoices: what is not subject to VAT stands on one of its own.
flag-several-invoices-sale = Your sale needs two invoices: what is not subject to VAT stands on one of its own.
flag-several-invoices-partner = Your purchase and your sale need two invoices each: what is not subject to VAT stands on one of its own.
