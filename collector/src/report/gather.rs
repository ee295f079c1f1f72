//! What a report is made from, read from the record.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use rusqlite::Connection;

use super::equipment::Equipment;
use super::{MOST_ROWS, Question, ReportError, Which};
use crate::export::pieces::weightiest;
use crate::record::functional::{FunctionalCheck, PieceKey, of_job};
use crate::record::standing::Standing;
use crate::record::writer::Tip;
use crate::record::{Kind, RecordError, reader};
use crate::register::Register;
use crate::register::forms::JobForm;
use crate::view::grounds::why_no_verdict;

/// Everything a report is made from.
#[derive(Debug)]
pub struct Gathered {
    /// The newest revision of the job.
    pub job: JobForm,
    /// Revisions of the job by their entries: which it is, from 1, and what it says.
    pub revisions: BTreeMap<i64, (u32, JobForm)>,
    /// Its threads that are asked about, each with its readings.
    pub features: Vec<OfFeature>,
    /// The piece asked about, where it is one.
    pub piece: Option<i64>,
    /// Functional checks of the job, of the threads and piece asked about; oldest first.
    pub checks: Vec<FunctionalCheck>,
    /// Places in `checks` of those that stand, by thread, and by piece and attempt.
    standing: HashMap<String, HashMap<(i64, i64), usize>>,
    /// What was measured with.
    pub equipment: Equipment,
    /// The registers as they are now.
    pub register: Register,
    /// The end of the record.
    pub tip: Tip,
}

/// A piece as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceNow {
    /// The attempt that counts: the newest with a reading that does.
    pub attempt: i64,
    /// Verdicts of its readings that count, by their codes.
    verdicts: Vec<&'static str>,
    /// How many of them have no verdict, by why.
    pub without_verdict: BTreeMap<&'static str, usize>,
}

impl PieceNow {
    /// The verdict that weighs most.
    pub fn verdict(&self) -> &'static str {
        weightiest(self.verdicts.iter().copied())
    }
}

/// Why a reading is not among those listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Apart {
    /// It is void.
    Void,
    /// It waits for an answer.
    Held,
    /// It does not count, for what its flags say.
    NotCounted,
    /// The piece was begun again.
    EarlierAttempt,
    /// It was put to another job, thread or piece.
    Elsewhere,
}

/// The readings of one thread.
#[derive(Debug, Default)]
pub struct OfFeature {
    /// Its name.
    pub name: String,
    /// Every piece with a reading that counts.
    pub pieces: BTreeMap<i64, PieceNow>,
    /// How many readings count.
    pub counted: usize,
    /// Those listed, in the order of the pieces.
    pub listed: Vec<Standing>,
    /// Whether only those that do not pass are listed.
    pub only_failing: bool,
    /// Readings that do not count, each with why; at most [`MOST_ROWS`].
    pub apart: Vec<(Standing, Apart)>,
    /// How many there are.
    pub apart_count: usize,
    /// Readings that wait for an answer, by their pieces.
    pub held: BTreeMap<i64, usize>,
    /// Readings whose void was taken back; at most [`MOST_ROWS`].
    pub restored: Vec<Standing>,
    /// Pieces with void readings.
    pub voids: BTreeSet<i64>,
    /// Readings between passes that stand.
    pub between_passes: usize,
    /// Entries of the job's revisions that readings were judged by.
    pub judged_by: Vec<i64>,
}

impl Gathered {
    /// Reads it.
    ///
    /// # Errors
    /// There is no such job, thread or piece, nothing was inspected, or the record cannot be read.
    pub fn read(connection: &Connection, question: &Question) -> Result<Gathered, ReportError> {
        let kinds = [Kind::Job, Kind::WireSet, Kind::Instrument];
        let changes = reader::changes_of_kinds(connection, &kinds)?;
        let mut register = Register::default();
        let mut revisions = BTreeMap::new();
        for change in &changes {
            register.apply(change)?;
            if change.kind == Kind::Job && change.subject == question.job {
                let number = revisions.len() as u32 + 1;
                revisions.insert(change.head.entry, (number, change.form::<JobForm>()?));
            }
        }
        let newest = revisions.values().next_back();
        let (_, job) = newest.ok_or_else(|| ReportError::NoJob(question.job.clone()))?;
        let mut gathered = Gathered {
            job: job.clone(),
            features: Vec::new(),
            revisions,
            piece: None,
            checks: Vec::new(),
            standing: HashMap::new(),
            equipment: Equipment::of(&changes, question.unit)?,
            register,
            tip: reader::tip(connection)?,
        };
        gathered.read_features(connection, question)?;
        gathered.take_checks(of_job(connection, &question.job)?);
        Ok(gathered)
    }

    /// The check of a piece that stands.
    pub fn check(&self, feature: &str, piece: i64, attempt: i64) -> Option<&FunctionalCheck> {
        let place = self.standing.get(feature)?.get(&(piece, attempt))?;
        self.checks.get(*place)
    }

    /// Every piece of a thread that was inspected or checked, with the check that stands of its last attempt.
    pub fn checks_of(&self, of: &OfFeature) -> BTreeMap<i64, Option<&FunctionalCheck>> {
        let pieces = of.pieces.iter();
        let mut attempts: BTreeMap<i64, i64> = pieces
            .map(|(number, piece)| (*number, piece.attempt))
            .collect();
        for (number, attempt) in self
            .standing
            .get(&of.name)
            .into_iter()
            .flat_map(HashMap::keys)
        {
            let last = attempts.entry(*number).or_insert(*attempt);
            *last = (*last).max(*attempt);
        }
        attempts
            .into_iter()
            .map(|(number, attempt)| (number, self.check(&of.name, number, attempt)))
            .collect()
    }

    fn read_features(
        &mut self,
        connection: &Connection,
        question: &Question,
    ) -> Result<(), ReportError> {
        let job = &question.job;
        let names = self.names(&question.feature);
        if names.is_empty() {
            return Err(ReportError::NoFeature {
                job: job.clone(),
                feature: question.feature.clone(),
            });
        }
        let mut features = Vec::new();
        for name in names {
            features.push(OfFeature::pieces_of(connection, job, name)?);
        }
        let inspected = features.iter().flat_map(|of| of.pieces.keys()).min();
        self.piece = match question.which {
            Which::All => None,
            Which::Piece(piece) => Some(piece),
            Which::First => {
                Some(*inspected.ok_or_else(|| ReportError::NothingInspected(job.clone()))?)
            }
        };
        let mut found = 0;
        for of in &mut features {
            if let Some(piece) = self.piece {
                of.pieces.retain(|number, _| *number == piece);
            }
            of.read(connection, job, self.piece, &mut self.equipment)?;
            of.listed.sort_by_key(|standing| {
                let reading = &standing.reading;
                (reading.tags.piece, reading.head.entry)
            });
            found += of.counted + of.apart_count + of.between_passes;
        }
        match self.piece {
            Some(piece) if found == 0 => {
                return Err(ReportError::NoPiece {
                    job: job.clone(),
                    piece,
                });
            }
            None if found == 0 => return Err(ReportError::NothingInspected(job.clone())),
            _ => {}
        }
        // A thread of an earlier revision that was never measured is of no interest.
        let now: Vec<String> = self.job.features.iter().map(|f| f.name.clone()).collect();
        features.retain(|of| now.contains(&of.name) || of.counted + of.apart_count > 0);
        self.features = features;
        Ok(())
    }

    /// Names of the threads asked about: those of the newest revision first, then of earlier ones.
    fn names(&self, wanted: &str) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for (_, form) in self.revisions.values().rev() {
            for feature in &form.features {
                let asked = wanted.is_empty() || feature.name == wanted;
                if asked && !names.contains(&feature.name) {
                    names.push(feature.name.clone());
                }
            }
        }
        names
    }

    fn take_checks(&mut self, all: Vec<FunctionalCheck>) {
        for check in all {
            let of = &check.of;
            let asked = self.piece.is_none_or(|piece| piece == of.piece)
                && self
                    .features
                    .iter()
                    .any(|feature| feature.name == of.feature);
            if asked {
                let by_piece = self.standing.entry(of.feature.clone()).or_default();
                by_piece.insert((of.piece, of.attempt), self.checks.len());
                self.checks.push(check);
            }
        }
    }
}

fn is_inspected(standing: &Standing) -> bool {
    let reading = &standing.reading;
    reading.tags.purpose == "inspecting" && standing.counts() && reading.judged.held.is_none()
}

impl OfFeature {
    /// The pieces with readings that count, each by its newest attempt.
    fn pieces_of(
        connection: &Connection,
        job: &str,
        name: String,
    ) -> Result<OfFeature, RecordError> {
        let mut pieces: BTreeMap<i64, PieceNow> = BTreeMap::new();
        reader::each_of_feature(connection, job, &name, |standing| {
            if !is_inspected(standing) {
                return;
            }
            let tags = &standing.reading.tags;
            let piece = pieces.entry(tags.piece).or_insert_with(|| PieceNow {
                attempt: tags.attempt,
                verdicts: Vec::new(),
                without_verdict: BTreeMap::new(),
            });
            if tags.attempt > piece.attempt {
                piece.attempt = tags.attempt;
                piece.verdicts.clear();
                piece.without_verdict.clear();
            }
            if tags.attempt == piece.attempt {
                let judged = &standing.reading.judged;
                piece.verdicts.push(judged.verdict);
                if let Some(why) = why_no_verdict(judged) {
                    *piece.without_verdict.entry(why).or_default() += 1;
                }
            }
        })?;
        Ok(OfFeature {
            name,
            pieces,
            ..OfFeature::default()
        })
    }

    /// Reads its readings, all pieces or one.
    fn read(
        &mut self,
        connection: &Connection,
        job: &str,
        piece: Option<i64>,
        equipment: &mut Equipment,
    ) -> Result<(), RecordError> {
        let all = self.pieces.values().map(|piece| piece.verdicts.len());
        self.only_failing = all.sum::<usize>() > MOST_ROWS;
        let name = self.name.clone();
        reader::each_touching_feature(connection, job, &name, |standing, is_here| {
            let asked = |number: i64| piece.is_none_or(|piece| piece == number);
            if is_here && asked(standing.reading.tags.piece) {
                self.take(standing, true, equipment);
                return;
            }
            // Put to another piece since, or to another job or thread.
            let stamped = standing.before.as_ref().map(|before| &*before.tags);
            let was_here = stamped
                .and_then(PieceKey::of)
                .is_some_and(|of| of.job == job && of.feature == name && asked(of.piece));
            if was_here {
                self.take(standing, false, equipment);
            }
        })
    }

    fn take(&mut self, standing: &Standing, is_here: bool, equipment: &mut Equipment) {
        let reading = &standing.reading;
        if standing.restored.is_some() && self.restored.len() < MOST_ROWS {
            self.restored.push(standing.clone());
        }
        let apart = match reading.tags.purpose {
            _ if !is_here => Some(Apart::Elsewhere),
            "inspecting" | "cutting" if standing.void.is_some() => Some(Apart::Void),
            "cutting" => {
                self.between_passes += 1;
                return;
            }
            "inspecting" if reading.judged.held.is_some() => Some(Apart::Held),
            "inspecting" if !standing.counts() => Some(Apart::NotCounted),
            "inspecting" => {
                let newest = self.pieces.get(&reading.tags.piece);
                let stands = newest.is_some_and(|piece| piece.attempt == reading.tags.attempt);
                (!stands).then_some(Apart::EarlierAttempt)
            }
            _ => return,
        };
        if let Some(why) = apart {
            self.apart_count += 1;
            let piece = reading.tags.piece;
            match why {
                Apart::Held => *self.held.entry(piece).or_default() += 1,
                Apart::Void if reading.tags.purpose == "inspecting" => {
                    self.voids.insert(piece);
                }
                _ => {}
            }
            if self.apart.len() < MOST_ROWS {
                self.apart.push((standing.clone(), why));
            }
            return;
        }
        self.counted += 1;
        equipment.note(reading);
        let judged_by = reading.tags.job.as_ref().map_or(0, |job| job.entry);
        if !self.judged_by.contains(&judged_by) {
            self.judged_by.push(judged_by);
        }
        let wanted = !self.only_failing || reading.judged.verdict != "pass";
        if wanted && self.listed.len() < MOST_ROWS {
            self.listed.push(standing.clone());
        }
    }
}
