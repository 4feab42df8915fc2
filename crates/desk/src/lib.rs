//! The program: case files, cards, sources and the command line. The only crate that opens files and knows clocks and zones.

pub mod amounts_page;
pub mod card;
pub mod cautions_page;
pub mod clinic_file;
pub mod command;
pub mod digits;
pub mod inputs;
pub mod inputs_page;
pub mod inspection_page;
pub mod lines;
pub mod load;
pub mod pages;
pub mod pictures;
pub mod practical;
pub mod questions_page;
pub mod queue_page;
pub mod result_page;
pub mod routes_page;
pub mod rules_page;
pub mod run_page;
pub mod running;
pub mod school;
pub mod sheet_page;
pub mod shelf;
pub mod sources;
pub mod waiting;
