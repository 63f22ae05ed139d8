//! When a part was out of stock: nothing of it in bins, after there had been some.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use crate::calendar::Span;

/// A change of what a part has in all bins together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InBins {
    /// The part.
    pub plug_id: Uuid,
    /// When.
    pub at: DateTime<Utc>,
    /// Plugs more, or less where negative.
    pub change: i64,
}

/// A stretch of time in which nothing of a part was in bins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StockOut {
    /// The part.
    pub plug_id: Uuid,
    /// When the last plug left.
    pub since: DateTime<Utc>,
    /// When the next one came; `None` where none has come.
    pub until: Option<DateTime<Utc>>,
    /// Microseconds of it that lie in the stretch that was asked for.
    pub micros: i64,
}

/// Finds stock-outs that touch a stretch of time, from changes handed over part by part and, of a
/// part, in the order of their running numbers.
///
/// A part that was never in a bin was never out of stock. Where nothing was gone for no time at
/// all, as when plugs leave and come in one act, nothing was out.
#[derive(Debug)]
pub struct StockOuts {
    span: Span,
    found: Vec<StockOut>,
    part: Option<Part>,
}

/// The part that is being read.
#[derive(Debug)]
struct Part {
    plug_id: Uuid,
    quantity: i64,
    /// The last instant: a running number never goes back in time, whatever the clock did.
    at: DateTime<Utc>,
    out_since: Option<DateTime<Utc>>,
    /// The last time that it was out, ended.
    ended: Option<Span>,
}

impl Part {
    fn new(plug_id: Uuid, at: DateTime<Utc>) -> Self {
        Self {
            plug_id,
            quantity: 0,
            at,
            out_since: None,
            ended: None,
        }
    }

    /// Takes a change; gives back a time out of stock that is known to be whole.
    fn take(&mut self, at: DateTime<Utc>, change: i64) -> Option<Span> {
        self.at = self.at.max(at);
        let before = self.quantity;
        self.quantity += change;
        if before > 0 && self.quantity <= 0 {
            // Came and went in one instant: it was out all along.
            let at = self.at;
            let goes_on = self.ended.take_if(|ended| ended.to == at);
            self.out_since = Some(goes_on.map_or(at, |ended| ended.from));
            return self.ended.take();
        }
        let since = self.out_since.take_if(|_| self.quantity > 0)?;
        self.ended.replace(Span {
            from: since,
            to: self.at,
        })
    }
}

impl StockOuts {
    /// Begins to read.
    pub fn within(span: Span) -> Self {
        Self {
            span,
            found: Vec::new(),
            part: None,
        }
    }

    /// The next change.
    pub fn read(&mut self, next: InBins) {
        let same = |part: &mut Part| part.plug_id == next.plug_id;
        let mut part = self.part.take_if(same).unwrap_or_else(|| {
            self.end_part();
            Part::new(next.plug_id, next.at)
        });
        if let Some(out) = part.take(next.at, next.change) {
            self.keep(part.plug_id, out.from, Some(out.to));
        }
        self.part = Some(part);
    }

    /// What was found: by part, in time.
    pub fn finish(mut self) -> Vec<StockOut> {
        self.end_part();
        self.found
    }

    fn end_part(&mut self) {
        let Some(part) = self.part.take() else { return };
        if let Some(out) = part.ended {
            self.keep(part.plug_id, out.from, Some(out.to));
        }
        if let Some(since) = part.out_since {
            self.keep(part.plug_id, since, None);
        }
    }

    fn keep(&mut self, plug_id: Uuid, since: DateTime<Utc>, until: Option<DateTime<Utc>>) {
        let out = Span {
            from: since,
            to: until.unwrap_or(self.span.to),
        };
        let micros = out.within(self.span).micros();
        if micros > 0 {
            self.found.push(StockOut {
                plug_id,
                since,
                until,
                micros,
            });
        }
    }
}
