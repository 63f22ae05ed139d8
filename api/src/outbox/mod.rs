//! Sends what webhooks are to be told: claims what is due, makes the requests, writes down what came of
//! each.

mod client;

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

use tokio::task::{JoinSet, spawn_blocking};
use uuid::Uuid;

use crate::service::webhooks::deliveries::{self, Parcel};
use crate::service::{Refusal, Shop};
use client::Client;

/// How often it is looked whether something is due, where nothing rings.
const LOOK: Duration = Duration::from_millis(500);

/// How long it is waited after a ring: what is written together is seen to together.
const GATHER: Duration = Duration::from_millis(50);

/// Sends for as long as it is polled.
pub async fn run(shop: Arc<Shop>) {
    let client = match Client::new(shop.sending()) {
        Ok(client) => Arc::new(client),
        Err(e) => {
            tracing::error!(error = %e, "nothing is sent to webhooks");
            return;
        }
    };
    away(&shop, deliveries::take_up).await;
    let (mut sent, mut under_way) = (JoinSet::new(), HashMap::<Uuid, usize>::new());
    loop {
        let mut bell = shop.bell.listen();
        let busy = under_way.clone();
        let due = away(&shop, move |shop| deliveries::prepare(shop, &busy)).await;
        for parcel in due.unwrap_or_default() {
            *under_way
                .entry(parcel.claimed.delivery.webhook_id)
                .or_default() += 1;
            sent.spawn(deliver(Arc::clone(&shop), Arc::clone(&client), parcel));
        }
        tokio::select! {
            Some(done) = sent.join_next(), if !sent.is_empty() => {
                if let Ok(webhook_id) = done
                    && let Some(count) = under_way.get_mut(&webhook_id)
                {
                    *count -= 1;
                }
                under_way.retain(|_, count| *count > 0);
            }
            () = bell.heard() => tokio::time::sleep(GATHER).await,
            () = tokio::time::sleep(LOOK) => {}
        }
    }
}

/// Makes one attempt; gives back whose it was.
async fn deliver(shop: Arc<Shop>, client: Arc<Client>, parcel: Parcel) -> Uuid {
    let webhook_id = parcel.claimed.delivery.webhook_id;
    let tried = client.send(&parcel).await;
    if let Some(failure) = &tried.failure {
        tracing::info!(webhook = %webhook_id, delivery = %parcel.claimed.delivery.id, failure, "a delivery failed");
    }
    away(&shop, move |shop| deliveries::record(shop, &parcel, &tried)).await;
    webhook_id
}

/// Asks the shop away from the event loop; a refusal goes to the log.
async fn away<T: Send + 'static>(
    shop: &Arc<Shop>,
    ask: impl FnOnce(&Shop) -> Result<T, Refusal> + Send + 'static,
) -> Option<T> {
    let shop = Arc::clone(shop);
    match spawn_blocking(move || ask(&shop)).await {
        Ok(Ok(value)) => return Some(value),
        Ok(Err(refusal)) => tracing::warn!(?refusal, "deliveries could not be seen to"),
        Err(panicked) => tracing::error!(%panicked, "deliveries could not be seen to"),
    }
    None
}
