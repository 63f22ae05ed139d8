//! The commands that move or reserve stock. Each is done once, however often it has to be sent.

use plugwell_domain::ledger::commands::{
    Issue, Receipt, Reserve, Return, Reversal, Scrapping, Transfer,
};
use reqwest::Method;
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::sending::Call;
use crate::stock::{Moved, Reservation};

impl Client {
    /// Plugs come in from a supplier.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn receive(&self, receipt: &Receipt) -> Result<Moved, Error> {
        self.command("/v1/stock/receipts", receipt).await
    }

    /// Plugs go to a job.
    ///
    /// # Errors
    /// [`Error`]; [`Code::NotEnoughStock`](crate::Code::NotEnoughStock) says what there is.
    pub async fn issue(&self, issue: &Issue) -> Result<Moved, Error> {
        self.command("/v1/stock/issues", issue).await
    }

    /// Plugs come back from a job.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn give_back(&self, back: &Return) -> Result<Moved, Error> {
        self.command("/v1/stock/returns", back).await
    }

    /// Plugs change their bin, go to quarantine or come out of it.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn transfer(&self, transfer: &Transfer) -> Result<Moved, Error> {
        self.command("/v1/stock/transfers", transfer).await
    }

    /// Plugs go into the scrap drum, for good.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn scrap(&self, scrapping: &Scrapping) -> Result<Moved, Error> {
        self.command("/v1/stock/scrappings", scrapping).await
    }

    /// Puts a movement right by one in the other direction.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn reverse(&self, reversal: &Reversal) -> Result<Moved, Error> {
        self.command("/v1/stock/reversals", reversal).await
    }

    /// Keeps plugs of a part for a job.
    ///
    /// # Errors
    /// [`Error`]; [`Code::NotEnoughStock`](crate::Code::NotEnoughStock) says what there is.
    pub async fn reserve(&self, reserve: &Reserve) -> Result<Reservation, Error> {
        self.command("/v1/stock/reservations", reserve).await
    }

    /// Gives a reservation back.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn release(&self, reservation_id: Uuid) -> Result<Reservation, Error> {
        let path = format!("/v1/stock/reservations/{reservation_id}/release");
        let call = Call::new(Method::POST, path).under(&self.once());
        self.send(&call).await?.read()
    }
}
