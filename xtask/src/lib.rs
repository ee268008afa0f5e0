//! What is generated, so that a test can ask whether it is current.

mod typescript;

/// Every generated file by its path from the root, with its text.
pub fn generated() -> Vec<(&'static str, String)> {
    vec![
        ("docs/reference/report.schema.json", finish::report::json_schema()),
        ("docs/reference/plan.schema.json", rig::plan::json_schema()),
        ("docs/reference/check.schema.json", rig::check::json_schema()),
        ("docs/reference/tolerances.md", rig::check::standards::reference()),
        ("docs/reference/faults.md", rig::check::reference()),
        ("docs/reference/book.schema.json", handoff::book::json_schema()),
        ("docs/reference/hand-off.schema.json", desk::hand_schema()),
        ("docs/reference/desk.schema.json", desk::wire::json_schema()),
        ("web/src/wire.generated.ts", typescript::of(&desk::wire::json_schema())),
        ("docs/reference/drift.schema.json", rig::drift::json_schema()),
        ("docs/reference/limits.md", finish::limit::reference()),
    ]
}
