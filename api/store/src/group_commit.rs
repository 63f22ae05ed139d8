//! Shared commits on SQLite: durable at the price of one flush for all who wait.
//!
//! There is one connection that writes. Whoever finds it free begins a transaction, runs its
//! command on it and hands it to the next in line, who runs its own command in the same
//! transaction under a savepoint of its own; whoever finds nobody in line commits for all. So a
//! command always runs on the thread that brought it: it may borrow what it likes, and should it
//! panic, only its own caller hears of it. Nobody is answered before the commit.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;

use parking_lot::{Condvar, Mutex};

use crate::batches::Batches;
use crate::connection::Opener;
use crate::error::StoreError;
use crate::session::Session;

/// The one writer and those who wait for it.
pub(crate) struct GroupCommit {
    line: Mutex<Line>,
    /// Those whose commit stands and whose `after` is still to run, in the order of commits.
    answering: Mutex<VecDeque<Arc<Ticket>>>,
    opener: Opener,
    /// The most commands that share a commit.
    largest: usize,
    batches: Arc<Batches>,
}

struct Line {
    /// Here while nobody writes.
    idle: Option<Writer>,
    waiting: VecDeque<Arc<Ticket>>,
}

/// The connection, handed from thread to thread, with those who ran on it since its last commit.
struct Writer {
    session: Session,
    group: Vec<Member>,
    /// Why the group cannot be committed.
    lost: Option<StoreError>,
}

struct Member {
    ticket: Arc<Ticket>,
    /// Has something to do after the commit, in its turn.
    in_turn: bool,
}

/// A caller's place in line.
#[derive(Default)]
struct Ticket {
    news: Mutex<Option<News>>,
    came: Condvar,
}

/// What a waiting caller is told.
enum News {
    /// It may write now.
    Write(Box<Writer>),
    /// Its group stands, and so does its turn to say so; or it is lost.
    Settled(Result<(), StoreError>),
}

impl Ticket {
    fn tell(&self, news: News) {
        *self.news.lock() = Some(news);
        self.came.notify_one();
    }

    fn wait(&self) -> News {
        let mut news = self.news.lock();
        loop {
            match news.take() {
                Some(news) => return news,
                None => self.came.wait(&mut news),
            }
        }
    }
}

impl GroupCommit {
    pub(crate) fn new(
        session: Session,
        opener: Opener,
        largest: usize,
        batches: Arc<Batches>,
    ) -> Self {
        let writer = Writer {
            session,
            group: Vec::new(),
            lost: None,
        };
        Self {
            line: Mutex::new(Line {
                idle: Some(writer),
                waiting: VecDeque::new(),
            }),
            answering: Mutex::default(),
            opener,
            largest: largest.max(1),
            batches,
        }
    }

    /// Runs a command in a shared transaction; `after` with its value once that is committed, in
    /// the order of the commands.
    pub(crate) fn run<T, E: From<StoreError>>(
        &self,
        command: impl FnOnce(&mut Session) -> Result<T, E>,
        after: Option<impl FnOnce(&T)>,
    ) -> Result<T, E> {
        let ticket = Arc::new(Ticket::default());
        let mut writer = self.turn(&ticket);
        if let Err(e) = writer.begin(&self.opener) {
            self.pass_on(writer);
            return Err(e.into());
        }
        let outcome = catch_unwind(AssertUnwindSafe(|| writer.run(command)));
        let well = matches!(outcome, Ok(Ok(_)));
        writer.end(well);
        writer.group.push(Member {
            ticket: Arc::clone(&ticket),
            in_turn: well && after.is_some(),
        });
        self.pass_on(writer);
        self.answered(&ticket, outcome, after)
    }

    /// Runs a command that takes long in a transaction of its own: those before it are committed
    /// first and do not wait for it, and there is no savepoint whose pages would have to be kept.
    pub(crate) fn run_alone<T, E: From<StoreError>>(
        &self,
        command: impl FnOnce(&mut Session) -> Result<T, E>,
        after: Option<impl FnOnce(&T)>,
    ) -> Result<T, E> {
        let ticket = Arc::new(Ticket::default());
        let mut writer = self.turn(&ticket);
        self.commit(&mut writer);
        if let Err(e) = writer
            .begin(&self.opener)
            .and_then(|()| writer.session.make_room(true))
        {
            writer.session.rollback();
            self.pass_on(writer);
            return Err(e.into());
        }
        let outcome = catch_unwind(AssertUnwindSafe(|| {
            let value = command(&mut writer.session)?;
            match writer.session.spoilt() {
                Some(e) => Err(e.into()),
                None => Ok(value),
            }
        }));
        if matches!(outcome, Ok(Ok(_))) {
            writer.group.push(Member {
                ticket: Arc::clone(&ticket),
                in_turn: after.is_some(),
            });
            self.commit(&mut writer);
        } else {
            writer.session.rollback();
            ticket.tell(News::Settled(Ok(())));
        }
        // Where even that fails the connection is of no use, and the next command finds out.
        let _ = writer.session.make_room(false);
        self.pass_on(writer);
        self.answered(&ticket, outcome, after)
    }

    /// Waits for the commit and does what is to be done behind it.
    fn answered<T, E: From<StoreError>>(
        &self,
        ticket: &Ticket,
        outcome: std::thread::Result<Result<T, E>>,
        after: Option<impl FnOnce(&T)>,
    ) -> Result<T, E> {
        let settled = match ticket.wait() {
            News::Settled(settled) => settled,
            News::Write(writer) => {
                self.pass_on(*writer);
                Err(StoreError::Fault("the writer came twice".into()))
            }
        };
        let value = match (outcome, settled) {
            (Err(panic), _) => resume_unwind(panic),
            (Ok(_), Err(e)) => return Err(e.into()),
            (Ok(answer), Ok(())) => answer?,
        };
        if let Some(after) = after {
            let said = catch_unwind(AssertUnwindSafe(|| after(&value)));
            self.next_answer();
            said.unwrap_or_else(|panic| resume_unwind(panic));
        }
        Ok(value)
    }

    /// Waits for the writer.
    fn turn(&self, ticket: &Arc<Ticket>) -> Writer {
        {
            let mut line = self.line.lock();
            if let Some(writer) = line.idle.take() {
                return writer;
            }
            line.waiting.push_back(Arc::clone(ticket));
        }
        loop {
            if let News::Write(writer) = ticket.wait() {
                return *writer;
            }
        }
    }

    /// Gives the writer to the next in line; commits first where the group is complete.
    fn pass_on(&self, mut writer: Writer) {
        let complete = writer.lost.is_some() || writer.group.len() >= self.largest;
        if !complete {
            let next = self.line.lock().waiting.pop_front();
            if let Some(next) = next {
                return next.tell(News::Write(Box::new(writer)));
            }
        }
        self.commit(&mut writer);
        let mut line = self.line.lock();
        match line.waiting.pop_front() {
            Some(next) => {
                drop(line);
                next.tell(News::Write(Box::new(writer)));
            }
            None => line.idle = Some(writer),
        }
    }

    fn commit(&self, writer: &mut Writer) {
        if writer.group.is_empty() {
            return;
        }
        let settled = writer.settle();
        if settled.is_ok() {
            self.batches.count(writer.group.len());
        }
        let (in_turn, at_once): (Vec<Member>, Vec<Member>) = writer
            .group
            .drain(..)
            .partition(|member| member.in_turn && settled.is_ok());
        if !in_turn.is_empty() {
            let mut answering = self.answering.lock();
            let first = answering.is_empty();
            answering.extend(in_turn.into_iter().map(|member| member.ticket));
            if first && let Some(front) = answering.front() {
                front.tell(News::Settled(Ok(())));
            }
        }
        for member in at_once {
            member.ticket.tell(News::Settled(settled.clone()));
        }
    }

    /// The one in front has done what it had to do after its commit; now the next.
    fn next_answer(&self) {
        let mut answering = self.answering.lock();
        answering.pop_front();
        if let Some(front) = answering.front() {
            front.tell(News::Settled(Ok(())));
        }
    }
}

impl Writer {
    /// Begins the group's transaction, where this command is its first.
    fn begin(&mut self, opener: &Opener) -> Result<(), StoreError> {
        if !self.group.is_empty() {
            return Ok(());
        }
        if self.session.is_broken() {
            self.session = opener
                .open()
                .map_err(|e| StoreError::Unavailable(e.to_string()))?;
        }
        self.session.begin_write()
    }

    fn run<T, E: From<StoreError>>(
        &mut self,
        command: impl FnOnce(&mut Session) -> Result<T, E>,
    ) -> Result<T, E> {
        if let Err(e) = self.session.begin_command() {
            self.lost.get_or_insert(e.clone());
            return Err(e.into());
        }
        let value = command(&mut self.session)?;
        match self.session.spoilt() {
            Some(e) => Err(e.into()),
            None => Ok(value),
        }
    }

    /// Keeps or undoes what the command did. SQLite gives the whole transaction up on some
    /// errors, such as a full disk: the savepoint is gone then, and the group with it.
    fn end(&mut self, keep: bool) {
        if self.lost.is_none()
            && let Err(e) = self.session.end_command(keep)
        {
            self.lost = Some(e);
        }
    }

    fn settle(&mut self) -> Result<(), StoreError> {
        let settled = match self.lost.take() {
            Some(e) => Err(e),
            None => self.session.commit(),
        };
        if settled.is_err() {
            self.session.rollback();
        }
        settled
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Barrier;
    use std::time::Duration;

    use crate::error::StoreError;
    use crate::store::{Options, Store};
    use crate::target::Target;

    /// What a full disk does: SQLite gives the whole transaction up, savepoints and all.
    #[test]
    fn a_lost_group_is_told_so_and_the_writer_goes_on() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(
            &Target::Sqlite(folder.path().join("shop.db")),
            &Options::default(),
        )
        .unwrap();
        let start = Barrier::new(3);
        let outcomes: Vec<Result<(), StoreError>> = std::thread::scope(|scope| {
            let first = scope.spawn(|| {
                store.write(|s| {
                    start.wait();
                    // Until the others are in line.
                    std::thread::sleep(Duration::from_millis(200));
                    s.set_meta("first", "written")
                })
            });
            let others = ["second", "third"].map(|name| {
                let (store, start) = (&store, &start);
                scope.spawn(move || {
                    start.wait();
                    store.write(|s| {
                        s.set_meta(name, "written")?;
                        s.batch("ROLLBACK")
                    })
                })
            });
            let mut outcomes = vec![first.join().unwrap()];
            outcomes.extend(others.map(|other| other.join().unwrap()));
            outcomes
        });
        // Whoever came second ended the transaction of the first as well.
        assert!(outcomes.iter().all(Result::is_err), "{outcomes:?}");
        let kept = |name: &str| store.read(|s| s.meta(name)).unwrap();
        assert_eq!(["first", "second", "third"].map(kept), [None, None, None]);
        store.write(|s| s.set_meta("fourth", "written")).unwrap();
        assert_eq!(kept("fourth"), Some("written".into()));
    }
}
