//! The built command, driven as a user drives it. One program for all of these tests: it is linked once, and the small project
//! that many of them read is drawn once.

mod demo_box;
mod drawn;
mod served;
mod small_project;

#[cfg(unix)]
mod alone;
mod book;
mod book_pages;
mod check;
mod cover;
mod decode;
mod desk;
mod door;
mod drift;
mod finish;
mod gallery;
mod guest;
#[cfg(unix)]
mod hostile;
#[cfg(unix)]
mod kept;
mod light;
mod named;
mod pack;
mod plan;
mod ready;
mod roles;
mod ruler;
#[cfg(unix)]
mod safe;
mod second;
mod several;
mod share;
mod sitting;
mod stand;
mod take;
mod trouble;
mod truth;
mod undo;
mod unharmed;
mod words;
mod zine;
