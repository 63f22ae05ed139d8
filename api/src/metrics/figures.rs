//! What can be read off the shop whenever somebody asks.

use std::fmt;

use plugwell_store::{BatchSizes, CLASSES, Connections};
use prometheus_client::collector::Collector;
use prometheus_client::encoding::{
    DescriptorEncoder, EncodeGaugeValue, EncodeMetric, MetricEncoder, NoLabelSet,
};
use prometheus_client::metrics::MetricType;
use prometheus_client::metrics::gauge::ConstGauge;

use crate::service::{Refusal, Shop};

/// Marks of the outbox are counted no further.
const MANY_MARKS: i64 = 1_000_000;

/// Figures of one moment.
#[derive(Debug)]
pub(super) struct Figures {
    position: i64,
    records: u64,
    /// None where the database does not answer.
    stored: Option<Stored>,
    connections: Connections,
    batches: BatchSizes,
}

/// What the database has to be asked for.
#[derive(Debug)]
struct Stored {
    index_lag: i64,
    outbox: i64,
    scrapped: i64,
}

impl Figures {
    pub(super) fn of(shop: &Shop) -> Self {
        let stored = || {
            let index_lag = shop.lag()?;
            shop.store.read(|s| {
                Ok::<_, Refusal>(Stored {
                    index_lag,
                    outbox: s.outbox_depth(shop.followed(), MANY_MARKS)?,
                    scrapped: s.scrapped()?,
                })
            })
        };
        let stored = stored().inspect_err(|refusal| {
            tracing::warn!(?refusal, "figures without those of the database")
        });
        Self {
            position: shop.followed(),
            records: shop.index.count(),
            stored: stored.ok(),
            connections: shop.store.connections(),
            batches: shop.store.batch_sizes(),
        }
    }
}

impl Collector for Figures {
    fn encode(&self, mut encoder: DescriptorEncoder) -> fmt::Result {
        let is_up = i64::from(self.stored.is_some());
        gauge(
            &mut encoder,
            "database_up",
            "Whether the database answers.",
            is_up,
        )?;
        gauge(
            &mut encoder,
            "index_position",
            "Last change that index and shelves follow.",
            self.position,
        )?;
        gauge(
            &mut encoder,
            "index_records",
            "Living records in the index.",
            self.records,
        )?;
        if let Some(stored) = &self.stored {
            gauge(
                &mut encoder,
                "index_lag",
                "Positions that index and shelves lie behind the database.",
                stored.index_lag,
            )?;
            gauge(
                &mut encoder,
                "outbox_depth",
                "Marks of changes that nobody has followed yet.",
                stored.outbox,
            )?;
            gauge(
                &mut encoder,
                "scrapped_plugs",
                "Plugs in the scrap drum.",
                stored.scrapped,
            )?;
        }
        self.pool(&mut encoder)?;
        self.writer(&mut encoder)
    }
}

impl Figures {
    fn pool(&self, encoder: &mut DescriptorEncoder<'_>) -> fmt::Result {
        let help = "Connections of the pool to the database, by what they do.";
        let mut pool =
            encoder.encode_descriptor("pool_connections", help, None, MetricType::Gauge)?;
        let states = [
            ("in_use", self.connections.in_use),
            ("idle", self.connections.idle),
        ];
        for (state, connections) in states {
            let labels = [("state", state)];
            ConstGauge::new(i64::from(connections)).encode(pool.encode_family(&labels)?)?;
        }
        gauge(
            encoder,
            "pool_connections_limit",
            "The most connections that the pool opens.",
            i64::from(self.connections.most),
        )
    }

    fn writer(&self, encoder: &mut DescriptorEncoder<'_>) -> fmt::Result {
        let ends = CLASSES.iter().map(|end| *end as f64);
        let classes: Vec<(f64, u64)> = ends
            .chain([f64::INFINITY])
            .zip(self.batches.commits)
            .collect();
        let commits = self.batches.commits.iter().sum();
        let help = "Commands that shared a commit, for each commit.";
        let mut writer: MetricEncoder<'_> = encoder.encode_descriptor(
            "writer_batch_commands",
            help,
            None,
            MetricType::Histogram,
        )?;
        let commands = self.batches.commands as f64;
        writer.encode_histogram::<NoLabelSet>(commands, commits, &classes, None)
    }
}

fn gauge<N: EncodeGaugeValue>(
    encoder: &mut DescriptorEncoder<'_>,
    name: &str,
    help: &str,
    value: N,
) -> fmt::Result {
    let gauge = ConstGauge::new(value);
    let metric = encoder.encode_descriptor(name, help, None, gauge.metric_type())?;
    gauge.encode(metric)
}
