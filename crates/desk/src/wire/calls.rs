//! Every call: its method, its path, what it sends and what it answers.

use super::intake::{Folders, FoldersQuery, Imports};
use super::request::{
    AccessRequest, CheckRequest, CodeRequest, DateQuery, DescribeRequest, EditRequest, ExportRequest, FrontRequest,
    JoinRequest, KeepPlanRequest, LightRequest, MarkRequest, Nothing, OffersQuery, PictureQuery, PlanRequest,
    PrintsQuery, PrivacyRequest, RefinishRequest, RoleRequest, SaveRequest, SharedRequest, StackRequest, TakeRequest,
    UndoRequest, WatchRequest,
};
use super::{
    Access, DateRead, Described, DeviceDid, Did, HandedOn, Hands, KeptPlan, Planned, Print, Prints, Refinished, Stand,
    State, Together,
};
use handoff::preview::Preview;
use handoff::ready::Ready;
use schemars::{JsonSchema, Schema, SchemaGenerator};

/// The schema of a type.
pub(super) type Shape = fn(&mut SchemaGenerator) -> Schema;

fn shape<T: JsonSchema>(generator: &mut SchemaGenerator) -> Schema {
    generator.subschema_for::<T>()
}

/// One thing that a page can ask.
pub(super) struct Call {
    /// Asked with GET or POST.
    pub method: &'static str,
    /// Its path; a name in braces stands for any one part.
    pub path: &'static str,
    /// What it sends: the words after `?` of a GET, the body of a POST.
    pub request: Shape,
    /// The JSON that it answers; none where it answers a picture.
    pub answer: Option<Shape>,
    /// What it does.
    pub says: &'static str,
}

const fn get<Q: JsonSchema, A: JsonSchema>(path: &'static str, says: &'static str) -> Call {
    Call { method: "GET", path, request: shape::<Q>, answer: Some(shape::<A>), says }
}

const fn post<Q: JsonSchema, A: JsonSchema>(path: &'static str, says: &'static str) -> Call {
    Call { method: "POST", path, request: shape::<Q>, answer: Some(shape::<A>), says }
}

const fn picture(path: &'static str, says: &'static str) -> Call {
    Call { method: "GET", path, request: shape::<PictureQuery>, answer: None, says }
}

/// What the desk's own page asks.
pub(super) const DESK: &[Call] = &[
    get::<Nothing, State>("/api/desk", "The project as a whole."),
    get::<PrintsQuery, Prints>("/api/prints", "Prints that a search finds."),
    get::<Nothing, Print>("/api/print/{id}", "One print on its sheet."),
    get::<OffersQuery, Vec<String>>("/api/offers", "Words already used for a fact, the most used first."),
    get::<DateQuery, DateRead>("/api/date", "What a date means as it is typed."),
    post::<SharedRequest, Vec<Together>>("/api/shared", "What several prints say, together; changes nothing."),
    post::<DescribeRequest, Described>("/api/describe", "Writes facts of prints; what cannot be written is told."),
    post::<SaveRequest, Did>("/api/search", "Keeps a search by a name, or drops it."),
    post::<PrivacyRequest, Did>("/api/privacy", "Decides what it means that a print says nothing of who may see it."),
    post::<EditRequest, Did>("/api/edit", "Changes an edit."),
    post::<StackRequest, Did>("/api/stack", "Changes stacks."),
    post::<JoinRequest, Did>("/api/join", "Moves a frame to another print, or to a new one."),
    post::<FrontRequest, Did>("/api/front", "Chooses the front of a print."),
    post::<RoleRequest, Did>("/api/role", "Sets what a frame shows."),
    post::<RefinishRequest, Refinished>("/api/refinish", "Finishes a frame again with a person's corrections."),
    post::<LightRequest, Did>("/api/light", "Names a light of the project, or deletes a name."),
    post::<UndoRequest, Did>("/api/undo", "Undoes the last change of a room, or an import as a whole."),
    post::<Nothing, Did>("/api/redo", "Repeats the change of a room that was undone last."),
    get::<FoldersQuery, Folders>("/api/folders", "Folders of this machine, each with how many frames it holds."),
    get::<Nothing, Imports>("/api/take", "The import that is running, and how the last one ended."),
    post::<TakeRequest, Did>("/api/take", "Takes a folder of frames in, in the background; progress comes as events."),
    post::<Nothing, Did>("/api/take/stop", "Stops an import: frames in work are still entered, no other is begun."),
    get::<Nothing, Stand>("/api/stand", "The stand."),
    post::<WatchRequest, Did>("/api/stand", "Watches a folder, or stops."),
    post::<MarkRequest, Did>("/api/mark", "Marks the frame that came last at the stand."),
    get::<Nothing, Access>("/api/guest", "Access to the stand from another device."),
    post::<AccessRequest, Access>("/api/guest", "Opens or closes that access."),
    post::<PlanRequest, Planned>("/api/plan", "Plans a rig, and says what the newest front measured."),
    get::<Nothing, KeptPlan>("/api/plan/words", "The plan's words as they were kept last."),
    post::<KeepPlanRequest, KeptPlan>("/api/plan/words", "Keeps the plan's words in the project."),
    get::<Nothing, Hands>("/api/hand", "The export that is being made, and earlier ones."),
    post::<ExportRequest, Did>("/api/hand", "Starts an export in the background; progress comes as events."),
    post::<ExportRequest, Ready>("/api/ready", "What is not ready to be handed on so; changes nothing."),
    post::<ExportRequest, Preview>("/api/preview", "The prints as what they would become; changes nothing."),
    get::<Nothing, HandedOn>("/api/hand/{name}", "One export."),
    post::<Nothing, Did>("/api/hand/{name}/again", "Updates a site or an archive in place: only what changed is made."),
    post::<CheckRequest, Did>("/api/hand/{name}/check", "Reads an archive again, and its second copy."),
    picture("/picture/{frame}/{kind}", "A frame's mount or frame, as `kind` says: JPEG in sRGB."),
];

/// What the paired device asks, at an address of its own. Without its cookie it gets 401.
pub(super) const DEVICE: &[Call] = &[
    post::<CodeRequest, DeviceDid>("/api/code", "Pairs the device."),
    get::<Nothing, Stand>("/api/stand", "The stand, without the folder's path."),
    post::<MarkRequest, DeviceDid>("/api/mark", "Marks the frame that came last."),
    picture("/picture/{frame}/{kind}", "The picture of the frame that came last, and of no other."),
];
