//! Receiving over HTTP: orders and what comes in for them, scans, barcodes, incoming checks.

mod at_once;
mod barcodes;
mod dock;
mod family;
mod family_at_once;
mod held_scans;
mod incoming;
mod incoming_faults;
mod one_number;
mod orders;
mod receipts;
mod scans;
mod suppliers;
mod van;
