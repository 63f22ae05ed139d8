//! The contract, put to a running service on each database: conventions, catalogue, policy, lists,
//! tokens, requirements, imports, the OpenAPI document and health. What moves stock is put to the
//! proof elsewhere.
//!
//! All tests share one shop per database and make records of their own; those that change what
//! everybody sees, such as the policy, start a shop of their own.

mod bad_commands;
mod bad_engines;
mod bad_input;
mod broken_heads;
mod builds;
mod calibrations;
mod card_of_reservation;
mod conventions;
mod every_get;
mod filters;
mod fitment_checks;
mod fitment_faults;
mod fitting_card;
mod fitting_card_gap;
mod free_text;
mod headers;
mod heads;
mod health;
mod heat_scale_chart;
mod heat_scales;
mod identifications;
mod import_faults;
mod imports;
mod lists;
mod openapi;
mod order_of_refusals;
mod outlines;
mod pictures;
mod plug_rules;
mod plugs;
mod policy;
mod positions;
mod quantities;
mod query_members;
mod requirements;
mod sections;
mod tokens;
mod versions;
