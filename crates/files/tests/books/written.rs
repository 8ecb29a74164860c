//! Statements written as a bank writes them, of both versions.

use std::fmt::Write;

use evenfare_engine::money::Currency;
use evenfare_reconcile::input::{Balance, Batch, Payment, Statement, Status};

/// The versions.
pub const VERSIONS: [&str; 2] = ["02", "08"];

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// In major units, without a sign.
fn major(minor: i64, currency: Currency) -> String {
    let magnitude = minor.unsigned_abs();
    let unit = currency.minor_per_major().unsigned_abs();
    match usize::from(currency.exponent()) {
        0 => magnitude.to_string(),
        width => format!("{}.{:0width$}", magnitude / unit, magnitude % unit),
    }
}

fn amount(minor: i64, currency: Currency) -> String {
    format!("<Amt Ccy=\"{currency}\">{}</Amt>", major(minor, currency))
}

fn signed(minor: i64, currency: Currency) -> String {
    let way = if minor < 0 { "DBIT" } else { "CRDT" };
    format!("{}<CdtDbtInd>{way}</CdtDbtInd>", amount(minor, currency))
}

fn balance(kind: &str, balance: &Balance, currency: Currency) -> String {
    let Balance { day, minor } = balance;
    format!(
        "<Bal><Tp><CdOrPrtry><Cd>{kind}</Cd></CdOrPrtry></Tp>{}<Dt><Dt>{day}</Dt></Dt></Bal>\n",
        signed(*minor, currency)
    )
}

fn charges(minor: i64, currency: Currency, version: &str) -> String {
    match (minor, version) {
        (0, _) => String::new(),
        (_, "02") => format!("<Chrgs>{}</Chrgs>", amount(minor, currency)),
        _ => format!("<Chrgs><Rcrd>{}</Rcrd></Chrgs>", amount(minor, currency)),
    }
}

/// Does a bank of that version tell the payments of an entry before charges? One that is less than they are would turn
/// round.
fn is_before_charges(batch: &Batch, version: &str) -> bool {
    let before = |payment: &Payment| payment.minor + payment.charges_minor;
    version == "08" && batch.payments.iter().all(|one| before(one).signum() == one.minor.signum())
}

fn transaction(payment: &Payment, batch: &Batch, currency: Currency, version: &str) -> String {
    let before = if is_before_charges(batch, version) { payment.charges_minor } else { 0 };
    let mut text = String::from("<TxDtls>");
    if let Some(id) = &payment.end_to_end {
        write!(text, "<Refs><EndToEndId>{}</EndToEndId></Refs>", escaped(id)).unwrap();
    }
    if version == "08" {
        text += &signed(payment.minor + before, currency);
    }
    text += "<AmtDtls>";
    if let Some((minor, currency)) = payment.instructed {
        write!(text, "<InstdAmt>{}</InstdAmt>", amount(minor, currency)).unwrap();
    }
    if version == "02" {
        write!(text, "<TxAmt>{}</TxAmt>", amount(payment.minor, currency)).unwrap();
    }
    text += "</AmtDtls>";
    text += &charges(payment.charges_minor, currency, version);
    let role = if (batch.minor > 0) == batch.reversal { "Cdtr" } else { "Dbtr" };
    text += "<RltdPties>";
    if let Some(name) = &payment.party {
        let name = format!("<Nm>{}</Nm>", escaped(name));
        let name = if version == "08" { format!("<Pty>{name}</Pty>") } else { name };
        write!(text, "<{role}>{name}</{role}>").unwrap();
    }
    if let Some(account) = &payment.party_account {
        write!(text, "<{role}Acct><Id><Othr><Id>{account}</Id></Othr></Id></{role}Acct>").unwrap();
    }
    text += "</RltdPties><RmtInf>";
    if !payment.remittance.is_empty() {
        write!(text, "<Ustrd>{}</Ustrd>", escaped(&payment.remittance)).unwrap();
    }
    for reference in &payment.structured {
        write!(text, "<Strd><CdtrRefInf><Ref>{}</Ref></CdtrRefInf></Strd>", escaped(reference)).unwrap();
    }
    text + "</RmtInf></TxDtls>\n"
}

fn entry(batch: &Batch, currency: Currency, version: &str) -> String {
    let status = match batch.status {
        Status::Booked => "BOOK",
        Status::Pending => "PDNG",
        Status::Information => "INFO",
    };
    let status = if version == "08" { format!("<Cd>{status}</Cd>") } else { status.to_owned() };
    let reversal = if batch.reversal { "<RvslInd>true</RvslInd>" } else { "" };
    let mut text = format!("<Ntry>{}{reversal}<Sts>{status}</Sts>", signed(batch.minor, currency));
    write!(text, "<BookgDt><Dt>{}</Dt></BookgDt>", batch.booked).unwrap();
    if let Some(day) = batch.value {
        write!(text, "<ValDt><DtTm>{day}T12:00:00Z</DtTm></ValDt>").unwrap();
    }
    if let Some(reference) = &batch.reference {
        write!(text, "<AcctSvcrRef>{reference}</AcctSvcrRef>").unwrap();
    }
    text += "<BkTxCd><Prtry><Cd>1</Cd></Prtry></BkTxCd>\n<NtryDtls>";
    for payment in &batch.payments {
        text += &transaction(payment, batch, currency, version);
    }
    text + "</NtryDtls></Ntry>\n"
}

/// A whole file.
pub fn file(statements: &[Statement], version: &str) -> String {
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <Document xmlns=\"urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version}\"><BkToCstmrStmt>\
         <GrpHdr><MsgId>M</MsgId><CreDtTm>2026-08-01T06:00:00Z</CreDtTm></GrpHdr>\n"
    );
    for statement in statements {
        let currency = statement.currency;
        writeln!(
            text,
            "<Stmt><Id>{}</Id><CreDtTm>2026-08-01T06:00:00Z</CreDtTm>\
             <Acct><Id><Othr><Id>{}</Id></Othr></Id><Ccy>{currency}</Ccy></Acct>",
            escaped(&statement.id),
            statement.account
        )
        .unwrap();
        text += &balance("OPBD", &statement.opening, currency);
        text += &balance("CLBD", &statement.closing, currency);
        for batch in &statement.batches {
            text += &entry(batch, currency, version);
        }
        text += "</Stmt>\n";
    }
    text + "</BkToCstmrStmt></Document>\n"
}
