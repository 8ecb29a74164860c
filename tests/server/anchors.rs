//! Closings, held over the wire against what was noted down of them.

use evenfare::wire::pb;
use serde_json::Value;
use tonic::{Code, Status};

use crate::books::{Desk, Files, closed, month, parts, reconcile};
use crate::harness::{command, reason};

fn anchor(month: &str, digest: &str) -> pb::ClosingAnchor {
    pb::ClosingAnchor { month: month.into(), digest: digest.into() }
}

fn close(month: &str, anchors: &[pb::ClosingAnchor]) -> pb::CloseScope {
    pb::CloseScope { month: month.into(), with_open_questions: true, anchors: anchors.to_vec() }
}

fn looked_at(anchors: &[pb::ClosingAnchor], files: &Files) -> Vec<pb::ReconcileRequest> {
    reconcile(pb::ReconcileScope { anchors: anchors.to_vec(), ..month("2026-10") }, files)
}

/// What the command says of the same anchor, on the folder as it lies there.
fn by_the_command(desk: &Desk, anchor: &pb::ClosingAnchor) -> Value {
    let mut reconcile = command();
    reconcile.arg("reconcile").arg(desk.world().join("books")).args(["--database", &desk.database]);
    reconcile.arg("--anchor").arg(format!("{}:{}", anchor.month, anchor.digest));
    let said = reconcile.args(["--format", "json"]).output().unwrap();
    assert_eq!(said.status.code(), Some(65), "{}", String::from_utf8_lossy(&said.stderr));
    serde_json::from_slice(&said.stdout).unwrap()
}

#[tokio::test]
async fn a_closing_is_held_against_what_was_noted_down() {
    let mut desk = Desk::new().await;
    let mut files = desk.files();
    let (september, file) = closed(&mut desk.books, close("2026-09", &[]), &files).await.unwrap();
    files.insert(september.file_name.clone(), file.clone());
    std::fs::create_dir_all(desk.world().join("books/closings")).unwrap();
    std::fs::write(desk.world().join("books").join(&september.file_name), file).unwrap();

    // As it was noted down it changes nothing, however often it is said.
    let noted = anchor("2026-09", &september.digest);
    let plain = parts(&mut desk.books, looked_at(&[], &files)).await.unwrap();
    let held = looked_at(&[noted.clone(), noted.clone()], &files);
    assert_eq!(parts(&mut desk.books, held).await.unwrap(), plain);
    let october = closed(&mut desk.books, close("2026-10", std::slice::from_ref(&noted)), &files).await;
    assert_eq!(october.unwrap(), closed(&mut desk.books, close("2026-10", &[]), &files).await.unwrap());

    // Another one, and one that is not there, whichever of them it is: refused as by the command.
    let refused = |status: Status| {
        assert_eq!(status.code(), Code::InvalidArgument, "{status:?}");
        (reason(&status).reason, status.message().to_owned())
    };
    let (other, missing) = (anchor("2026-09", &"0".repeat(64)), anchor("2026-08", &september.digest));
    for (wrong, why) in [(other, "CLOSING_CHANGED"), (missing, "CLOSING_MISSING")] {
        let anchors = [noted.clone(), wrong.clone()];
        let (reason, says) = refused(parts(&mut desk.books, looked_at(&anchors, &files)).await.unwrap_err());
        assert_eq!(reason, why);
        let closed = closed(&mut desk.books, close("2026-10", &anchors), &files).await.unwrap_err();
        assert_eq!(refused(closed), (reason.clone(), says.clone()));
        let said = by_the_command(&desk, &wrong);
        assert_eq!((&said["refused"], &said["message"]), (&reason.to_lowercase().into(), &says.into()));
    }
}

/// All that is wrong with a scope at once, before any file is sent.
#[tokio::test]
async fn what_is_no_anchor_is_told_at_its_place() {
    let mut desk = Desk::new().await;
    let wrong = [
        anchor("2026-09", &"0".repeat(64)),
        anchor("September", &"0".repeat(63)),
        pb::ClosingAnchor::default(),
    ];
    let fields = ["[1].month", "[1].digest", "[2].month", "[2].digest"];
    let fields = fields.map(|field| format!("scope.anchors{field}")).to_vec();
    let asked = looked_at(&wrong, &Files::new());
    let status = parts(&mut desk.books, asked).await.unwrap_err();
    assert_eq!((reason(&status).code, reason(&status).fields), (Code::InvalidArgument, fields.clone()));
    let status = closed(&mut desk.books, close("", &wrong), &Files::new()).await.unwrap_err();
    let all: Vec<String> = [String::from("scope.month")].into_iter().chain(fields).collect();
    assert_eq!((reason(&status).code, reason(&status).fields), (Code::InvalidArgument, all));
}
