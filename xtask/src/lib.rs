//! What is generated, so that a test can ask whether it is current.

mod typescript;

/// Every generated file by its path from the root, with its text.
pub fn generated() -> Vec<(&'static str, String)> {
    vec![
        ("docs/reference/report.schema.json", studio::report::json_schema()),
        ("docs/reference/plan.schema.json", studio::plan::json_schema()),
        ("docs/reference/check.schema.json", studio::check::json_schema()),
        ("docs/reference/tolerances.md", studio::check::standards::reference()),
        ("docs/reference/faults.md", studio::check::reference()),
        ("docs/reference/book.schema.json", studio::book::json_schema()),
        ("docs/reference/hand-off.schema.json", studio::desk::hand_schema()),
        ("docs/reference/desk.schema.json", studio::desk::wire::json_schema()),
        ("web/src/wire.generated.ts", typescript::of(&studio::desk::wire::json_schema())),
        ("docs/reference/drift.schema.json", studio::drift::json_schema()),
        ("docs/reference/limits.md", studio::limit::reference()),
    ]
}
