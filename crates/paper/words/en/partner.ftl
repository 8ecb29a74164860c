## The partner's sheet.

end-price = End price
your-buy-price = Your buy price
your-share = Your share
your-selling-price = Your selling price
to-be-charged = To be charged to your customer
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
