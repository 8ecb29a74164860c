//! Which elements of a RequestForQuotation say what of a job; `FORMAT.md` has the same as a table.

/// What an element of that name says.
pub(super) struct Rule(pub(super) &'static str, pub(super) Says);

/// What an element says.
#[derive(Clone, Copy)]
pub(super) enum Says {
    /// Nothing that a job has.
    Information,
    /// What its elements say.
    Within(&'static [Rule]),
    /// A line of text.
    Line(&'static str),
    /// The same, where nothing said it before.
    LineIfNone(&'static str),
    /// A code, a day, a decimal, a word: spaces around it do not count.
    Word(&'static str),
    /// A whole number.
    Number(&'static str),
    /// One entry of a list of words.
    Words(&'static str),
    /// A table.
    Table(&'static str, &'static [Rule]),
    /// One entry of a list of tables.
    Tables(&'static str, &'static [Rule]),
    /// That the customer is no business.
    Person(&'static str),
    /// By the word `none`, a list without entries.
    Empty(&'static str),
    /// One, and never more.
    One,
    /// A number of that unit of measure.
    Measured(&'static str, &'static str),
    /// What it says goes by what stands in the one element, and is what stands in the other.
    Named(&'static str, &'static str, &'static [Rule]),
}

/// The rules of each place.
pub(super) mod rule {
    use super::Rule;
    use super::Says::{
        Empty, Information, Line, LineIfNone, Measured, Named, Number, One, Person, Table, Tables, Within,
        Word, Words,
    };

    pub(in super::super) const REQUEST: &[Rule] = &[
        Rule("ID", Word("reference")),
        Rule("IssueDate", Word("received")),
        Rule("SubmissionDueDate", Word("quoted")),
        Rule("PricingCurrencyCode", Word("currency")),
        Rule(
            "Delivery",
            Within(&[
                Rule("Despatch", Within(&[Rule("RequestedDespatchDate", Word("dispatch"))])),
                Rule("RequestedDeliveryPeriod", Within(&[Rule("EndDate", Word("tax_date"))])),
                Rule("DeliveryAddress", Information),
            ]),
        ),
        Rule("DeliveryTerms", Within(&[Rule("ID", Words("extras")), Rule("SpecialTerms", Information)])),
        Rule("UBLVersionID", Information),
        Rule("CustomizationID", Information),
        Rule("ProfileID", Information),
        Rule("ProfileExecutionID", Information),
        Rule("CopyIndicator", Information),
        Rule("UUID", Information),
        Rule("IssueTime", Information),
        Rule("Note", Information),
        Rule("LineCountNumeric", Information),
        Rule("RequestedValidityPeriod", Information),
        Rule("AdditionalDocumentReference", Information),
        Rule("Signature", Information),
        Rule("SellerSupplierParty", Information),
        Rule("Contract", Information),
    ];

    pub(in super::super) const CUSTOMER: &[Rule] = &[
        Rule(
            "Party",
            Within(&[
                Rule("PartyIdentification", Information),
                Rule("PartyName", Within(&[Rule("Name", Line("name"))])),
                Rule(
                    "Language",
                    Within(&[
                        Rule("ID", Word("language")),
                        Rule("Name", Information),
                        Rule("LocaleCode", Information),
                    ]),
                ),
                Rule(
                    "PostalAddress",
                    Within(&[
                        Rule("StreetName", Line("street")),
                        Rule("CityName", Line("city")),
                        Rule("PostalZone", Line("postcode")),
                        Rule(
                            "Country",
                            Within(&[Rule("IdentificationCode", Word("country")), Rule("Name", Information)]),
                        ),
                    ]),
                ),
                Rule(
                    "PartyTaxScheme",
                    Within(&[Rule("CompanyID", Line("vat_id")), Rule("TaxScheme", Information)]),
                ),
                Rule(
                    "PartyLegalEntity",
                    Within(&[Rule("RegistrationName", LineIfNone("name")), Rule("CompanyID", Information)]),
                ),
                Rule("EndpointID", Information),
                Rule("Contact", Information),
                Rule("Person", Person("business")),
                Rule(
                    "ServiceProviderParty",
                    Tables(
                        "route",
                        &[
                            Rule("ID", Information),
                            Rule("ServiceTypeCode", Empty("takes_over")),
                            Rule("ServiceType", Words("takes_over")),
                            Rule(
                                "Party",
                                Within(&[
                                    Rule("PartyIdentification", Within(&[Rule("ID", Word("partner"))])),
                                    Rule("PartyName", Information),
                                ]),
                            ),
                        ],
                    ),
                ),
            ]),
        ),
        Rule("DeliveryContact", Information),
        Rule("AccountingContact", Information),
        Rule("BuyerContact", Information),
    ];

    const FINDING: &[Rule] = &[
        Rule("Name", Information),
        Rule("Value", Word("code")),
        Rule("ValueQualifier", Word("position")),
        Rule("ValueQuantity", Number("quantity")),
    ];

    pub(in super::super) const UNIT: &[Rule] = &[
        Rule("ID", Information),
        Rule("UUID", Information),
        Rule("Note", Information),
        Rule("OptionalLineItemIndicator", Information),
        Rule("DocumentReference", Within(&[Rule("ID", Word("returned.quote"))])),
        Rule(
            "LineItem",
            Within(&[
                Rule("ID", Word("id")),
                Rule("Note", Information),
                Rule("Quantity", One),
                Rule(
                    "Delivery",
                    Within(&[Rule(
                        "Shipment",
                        Within(&[
                            Rule("ID", Information),
                            Rule(
                                "TransportHandlingUnit",
                                Tables(
                                    "parcels",
                                    &[
                                        Rule("ID", Information),
                                        Rule(
                                            "MeasurementDimension",
                                            Named(
                                                "AttributeID",
                                                "Measure",
                                                &[
                                                    Rule("LN", Measured("CMT", "length_cm")),
                                                    Rule("WD", Measured("CMT", "width_cm")),
                                                    Rule("HT", Measured("CMT", "height_cm")),
                                                    Rule("G", Measured("KGM", "weight_kg")),
                                                ],
                                            ),
                                        ),
                                    ],
                                ),
                            ),
                        ]),
                    )]),
                ),
                Rule(
                    "Item",
                    Within(&[
                        Rule("Description", Information),
                        Rule("Name", Information),
                        Rule("SellersItemIdentification", Within(&[Rule("ID", Word("family"))])),
                        Rule(
                            "AdditionalItemProperty",
                            Named(
                                "Name",
                                "Value",
                                &[
                                    Rule("declared_value", Word("declared_value")),
                                    Rule("cycles", Number("cycles")),
                                    Rule("hours", Number("hours")),
                                    Rule("task", Word("task")),
                                    Rule("class", Word("class")),
                                    Rule("finding", Tables("findings", FINDING)),
                                    Rule("warranty_cycles", Number("returned.warranty_cycles")),
                                    Rule("cycles_at_dispatch", Number("returned.cycles_at_dispatch")),
                                ],
                            ),
                        ),
                        Rule(
                            "ItemInstance",
                            Within(&[
                                Rule("ManufactureDate", Word("built")),
                                Rule("SerialID", Line("serial")),
                            ]),
                        ),
                    ]),
                ),
                Rule(
                    "WarrantyValidityPeriod",
                    Within(&[
                        Rule("StartDate", Word("returned.dispatched")),
                        Rule("DurationMeasure", Measured("MON", "returned.warranty_months")),
                    ]),
                ),
            ]),
        ),
    ];

    const CHANGED: &[Rule] = &[
        Rule("ID", Information),
        Rule("Note", Information),
        Rule(
            "Item",
            Within(&[
                Rule("Description", Information),
                Rule("Name", Information),
                Rule(
                    "AdditionalItemProperty",
                    Named(
                        "Name",
                        "Value",
                        &[
                            Rule("task", Word("task")),
                            Rule("class", Word("class")),
                            Rule("finding", Tables("findings", FINDING)),
                        ],
                    ),
                ),
            ]),
        ),
        Rule("LineReference", Within(&[Rule("LineID", Word("unit"))])),
    ];

    pub(in super::super) const CHANGE: &[Rule] = &[
        Rule("ID", Word("id")),
        Rule("UUID", Information),
        Rule("Note", Line("text")),
        Rule("OptionalLineItemIndicator", Information),
        Rule("LineItem", Table("change", CHANGED)),
    ];
}
