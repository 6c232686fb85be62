//! What a person is told: findings, causes and cures, advice, cards, marks in Practice, sheets. Also the outside check
//! of whole jobs, and the house rules of the source.

#[path = "../data/jobs/mod.rs"]
mod data;

mod advice;
mod cards;
mod causes;
mod findings;
mod house;
mod lessons;
mod masking;
mod own_cards;
mod practice;
mod progress;
mod promise;
mod reference;
mod sheet;
