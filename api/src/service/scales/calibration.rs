//! Scales calibrated from statements: looked at first, applied by a manager afterwards.

use std::collections::BTreeMap;

use plugwell_domain::calibration::{
    Calibration, CalibrationRequest, Code, Footing, Named, ScaleCode, Step, Unsolved,
    applied as applied_to, calibrate as fit, flattened,
};
use plugwell_domain::decimal::HeatIndex;
use plugwell_domain::heat_scale::{HeatCode, HeatScale, HeatScaleData};
use plugwell_domain::words::Role;
use plugwell_store::Session;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::following::{Followed, follow};
use crate::service::conflict::Conflict;
use crate::service::{Refusal, Shop, access, now};

/// What a calibration found, and what applying it changed.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Calibrating {
    /// Every scale that was named, the anchor too.
    pub scales: Vec<CalibratedScale>,
    /// Every statement, in the order of the request.
    pub statements: Vec<Residual>,
    /// Places of the statements that break the rest, the worst first: a small set, found greedily
    /// and not claimed smallest.
    pub contradictory: Vec<usize>,
    /// The same with what each breaks.
    pub contradictions: Vec<Broken>,
    /// Whether those are all; false where there are too many to search for.
    pub all_found: bool,
    /// Send it with `apply: true`, so that nothing else is stored than what stands here.
    pub fingerprint: String,
    /// What applying changed; null where nothing was applied.
    #[serde(rename = "applied")]
    pub followed: Option<Followed>,
}

/// One scale as it was fitted.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CalibratedScale {
    /// The scale.
    pub scale_id: Uuid,
    /// Its codes in the maker's order.
    pub codes: Vec<CalibratedCode>,
}

/// One code as it was fitted.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CalibratedCode {
    /// The code.
    pub code: String,
    /// Where it was fitted to; null where nothing tells.
    pub heat_index: Option<HeatIndex>,
    /// Statements that bear on it: none, one, or several.
    pub determined_by: usize,
    /// No statement bears on it, and it lies between neighbours that are determined.
    pub interpolated: bool,
    /// What stands in the scale now.
    pub now: HeatIndex,
    /// What would stand there once it is applied: a code of which nothing tells stays where it
    /// stands, but for what the order forces.
    pub would_be: HeatIndex,
    /// What that rests on.
    pub footing: Footing,
}

/// How far a statement misses.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Residual {
    /// Its place in the request.
    pub index: usize,
    /// How much colder `a` came out than `b`; null where nothing links it to the anchor.
    pub residual: Option<HeatIndex>,
}

/// A statement that breaks the rest.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Broken {
    /// Its place in the request.
    pub index: usize,
    /// What it says and what the rest says, in words.
    pub text: String,
    /// From the colder of its codes down to the other, by what the rest says.
    pub chain: Vec<Link>,
}

/// One step of a chain.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Link {
    /// Where it begins.
    pub from: ScaleCode,
    /// Where it leads.
    pub to: ScaleCode,
    /// The statement that says so, by its place; null where the order of the scale does.
    pub statement: Option<usize>,
}

/// A calibration and the scales that it was made of.
struct Solved {
    scales: Vec<HeatScale>,
    named: Named,
    found: Calibration,
    /// Codes of every scale as they would be stored, and what that rests on.
    becomes: Vec<Vec<HeatCode>>,
    footings: Vec<Vec<Footing>>,
}

/// Fits scales to the anchor by what was stated; stores what it found only where `apply` says so.
///
/// # Errors
/// Scales and codes that there are not; with `apply`: `Forbidden` for less than a manager,
/// `calibration_changed`, `scale_flattened`.
pub fn calibrate(
    shop: &Shop,
    role: Role,
    request: &CalibrationRequest,
) -> Result<Calibrating, Refusal> {
    let apply = request.apply == Some(true);
    if apply && role < Role::Manager {
        return Err(Refusal::Forbidden(
            "only a manager applies a calibration".into(),
        ));
    }
    let tolerance = shop.policy().values.calibration_tolerance.value;
    let ids: Vec<Uuid> = request.scale_ids().into_iter().collect();
    let scales = shop.store.read(|s| stored(s, &ids))?;
    let named = request.named(&scales).map_err(Refusal::Faults)?;
    let solved = Solved::of(scales, named, tolerance)?;
    let fingerprint = solved.fingerprint(tolerance);
    if request
        .fingerprint
        .as_ref()
        .is_some_and(|seen| *seen != fingerprint)
    {
        return Err(changed("this is not the calibration that was looked at"));
    }
    let followed = match apply {
        true => Some(solved.apply(shop)?),
        false => None,
    };
    Ok(solved.told(fingerprint, followed))
}

fn stored(session: &mut Session, ids: &[Uuid]) -> Result<Vec<HeatScale>, Refusal> {
    let mut scales = Vec::with_capacity(ids.len());
    for id in ids {
        scales.extend(session.scale(*id)?);
    }
    Ok(scales)
}

fn changed(detail: &str) -> Refusal {
    Refusal::conflict(Conflict::CalibrationChanged, detail)
}

impl Solved {
    fn of(scales: Vec<HeatScale>, named: Named, tolerance: HeatIndex) -> Result<Self, Refusal> {
        let data: Vec<HeatScaleData> = scales.iter().map(|scale| scale.data.clone()).collect();
        let found = fit(&data, named.anchor, &named.statements, tolerance.get())
            .map_err(|e: Unsolved| Refusal::Fault(e.to_string()))?;
        let applied = data.iter().zip(&found.codes).enumerate();
        let (becomes, footings) = applied
            .map(|(place, (scale, codes))| match place == named.anchor {
                true => (scale.codes.clone(), vec![Footing::Kept; codes.len()]),
                false => applied_to(scale, codes).into_iter().unzip(),
            })
            .unzip();
        Ok(Self {
            scales,
            named,
            found,
            becomes,
            footings,
        })
    }

    /// Another one for whatever could make another result.
    fn fingerprint(&self, tolerance: HeatIndex) -> String {
        let versions: BTreeMap<Uuid, i64> = self.scales.iter().map(|s| (s.id, s.version)).collect();
        access::hashed(&format!(
            "{versions:?} {:?} {tolerance} {:?}",
            self.named, self.becomes
        ))
    }

    /// Stores the fitted codes; the parts follow in the same transaction.
    fn apply(&self, shop: &Shop) -> Result<Followed, Refusal> {
        for (scale, codes) in self.scales.iter().zip(&self.becomes) {
            if scale.data.codes != *codes && flattened(codes) {
                let detail = format!(
                    "all codes of {} {} would stand at {}",
                    scale.data.maker, scale.data.name, codes[0].heat_index
                );
                return Err(Refusal::conflict(Conflict::ScaleFlattened, detail));
            }
        }
        let followed = shop.write(|s| {
            // The fit was made outside this transaction: it holds while the scales are the same.
            for scale in &self.scales {
                if s.scale_for_change(scale.id)?.as_ref() != Some(scale) {
                    return Err(changed("a scale was changed at the same moment"));
                }
            }
            let at = now();
            let mut plugs = Vec::new();
            for (old, codes) in self.scales.iter().zip(&self.becomes) {
                if old.data.codes == *codes {
                    continue;
                }
                let mut scale = old.clone();
                scale.data.codes.clone_from(codes);
                scale.calibrated_at = Some(at);
                scale.version += 1;
                scale.updated_at = at;
                s.update_scale(&scale)?;
                plugs.extend(follow(s, &scale)?);
            }
            Followed::of(s, plugs)
        })?;
        shop.written(followed.plug_ids())?;
        Ok(followed)
    }

    fn told(&self, fingerprint: String, followed: Option<Followed>) -> Calibrating {
        let statements = self.named.statements.iter().enumerate();
        let contradictions: Vec<Broken> = self.broken();
        Calibrating {
            scales: (0..self.scales.len()).map(|i| self.scale(i)).collect(),
            statements: statements
                .map(|(index, statement)| Residual {
                    index,
                    residual: self.found.residual(statement),
                })
                .collect(),
            contradictory: contradictions.iter().map(|broken| broken.index).collect(),
            contradictions,
            all_found: self.found.all_found,
            fingerprint,
            followed,
        }
    }

    fn scale(&self, scale: usize) -> CalibratedScale {
        let own = &self.scales[scale];
        let codes = own.data.codes.iter().enumerate();
        CalibratedScale {
            scale_id: own.id,
            codes: codes
                .map(|(place, code)| {
                    let fitted = &self.found.codes[scale][place];
                    CalibratedCode {
                        code: code.code.clone(),
                        heat_index: fitted.rounded(),
                        determined_by: fitted.determined_by,
                        interpolated: fitted.interpolated,
                        now: code.heat_index,
                        would_be: self.becomes[scale][place].heat_index,
                        footing: self.footings[scale][place],
                    }
                })
                .collect(),
        }
    }

    fn broken(&self) -> Vec<Broken> {
        let data: Vec<HeatScaleData> = self.scales.iter().map(|s| s.data.clone()).collect();
        let broken = self
            .found
            .contradictions
            .iter()
            .map(|contradiction| Broken {
                index: contradiction.statement,
                text: contradiction.sentence(&data, self.named.anchor, &self.named.statements),
                chain: contradiction
                    .chain
                    .iter()
                    .map(|step| self.link(step))
                    .collect(),
            });
        broken.collect()
    }

    fn link(&self, step: &Step) -> Link {
        let named = |code: Code| ScaleCode {
            scale_id: self.scales[code.scale].id,
            code: self.scales[code.scale].data.codes[code.place].code.clone(),
        };
        Link {
            from: named(step.from),
            to: named(step.to),
            statement: step.statement,
        }
    }
}
