//! A table of parts, made up.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

/// Parts of four invented makers, their numbers in no order.
pub fn table(file: &Path, rows: u64) {
    let mut to = BufWriter::new(File::create(file).expect("a file"));
    let header = "maker,part_number,description,thread,reach_mm,seat,hex_mm,hex_kind,heat_index,projection_mm,\
                  strap_extent_mm,resistor,resistance_ohm,electrode,ground,gap_preset_mm,gap_min_mm,gap_max_mm,terminal,\
                  overall_mm,insulator_mm,service_life_km,torque_nm,pack_size,status,provenance";
    writeln!(to, "{header}").expect("a row");
    for n in 0..rows {
        // A prime: shares no factor with the rows, so that every number comes once.
        let part = n * 7_368_787 % rows;
        let maker = ["Ferrowick", "Alderstone", "Quayburn", "Tindrel"][(part % 4) as usize];
        let heat = 20 + part % 90;
        writeln!(
            to,
            "{maker},{}-{part:07},\"One strap, projected, number {part}\",M14x1.25,19.0,gasket,16.0,hex,{heat},3.0,5.2,true,\
             5000,iridium,single_strap,0.9,0.6,1.1,solid_nut,72.0,33.0,60000,25,4,active,reach_mm=measured",
            &maker[..2],
        )
        .expect("a row");
    }
    to.flush().expect("a table");
}
