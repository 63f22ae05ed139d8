//! Suppliers: places of their kind, with what is known of them besides.

use plugwell_domain::ledger::{Place, PlaceKind};
use plugwell_domain::order::{Supplier, SupplierData};
use uuid::Uuid;

use super::heads::body;
use super::{Filtered, Session, listing};
use crate::error::StoreError;
use crate::statement::binds;

impl Session {
    /// A supplier; `None` also where the place is of another kind.
    pub fn supplier(&mut self, id: Uuid) -> Result<Option<Supplier>, StoreError> {
        let place = self.place(id)?.filter(|p| p.kind == PlaceKind::Supplier);
        Ok(self.described(place.into_iter().collect())?.pop())
    }

    /// Suppliers in the order that they were made in; by name, compared case-blind, where one is
    /// given.
    pub fn list_suppliers(
        &mut self,
        name: Option<&str>,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Supplier>, StoreError> {
        let mut query = Filtered::query(super::places::SELECT);
        query.and("kind = ?", PlaceKind::Supplier.word());
        query.and_given("name_key = ?", name.map(super::key));
        query.and_given("id > ?", after);
        let places = self.load_filtered(query.page("id", limit))?;
        self.described(places)
    }

    fn described(&mut self, places: Vec<Place>) -> Result<Vec<Supplier>, StoreError> {
        let ids: Vec<Uuid> = places.iter().map(|place| place.id).collect();
        let sql = format!(
            "SELECT place_id, body FROM suppliers WHERE place_id IN {}",
            self.listed()
        );
        let found: Vec<(Uuid, String)> = self.load(&sql, &[listing(&ids)])?;
        let mut suppliers = Vec::with_capacity(places.len());
        for place in places {
            let known = found.iter().find(|(id, _)| *id == place.id);
            let mut data: SupplierData = match known {
                Some((_, text)) => {
                    serde_json::from_str(text).map_err(|e| StoreError::Fault(e.to_string()))?
                }
                None => SupplierData::named(&place.name),
            };
            // The place has the name: the body's is only what was sent.
            data.name = place.name;
            suppliers.push(Supplier {
                id: place.id,
                code: place.code,
                data,
                retired: place.retired,
                version: place.version,
                created_at: place.created_at,
            });
        }
        Ok(suppliers)
    }

    /// Keeps what is known of a supplier beside its place, which is written by itself.
    pub fn put_supplier(&mut self, id: Uuid, data: &SupplierData) -> Result<(), StoreError> {
        let sql = "INSERT INTO suppliers (place_id, body) VALUES (?, ?) \
                   ON CONFLICT (place_id) DO UPDATE SET body = excluded.body";
        self.execute(sql, binds![id, body(data)?]).map(drop)
    }
}
