//! What handlers take from a request, refused in the contract's order: type, size, once-only key,
//! JSON, shape, rules.

use std::marker::PhantomData;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpRequest};
use futures_util::future::{LocalBoxFuture, Ready, ready};
use plugwell_domain::fault::FaultCode;
use tempfile::SpooledTempFile;
use utoipa::IntoParams;
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, SchemaType, Type};
use utoipa::openapi::{Required, SchemaFormat};
use uuid::Uuid;

use crate::http::arriving::{Arriving, arriving};
use crate::http::body::Body;
use crate::http::once::KeyHeader;
use crate::http::problem::{BAD_JSON, Problem};
use crate::http::strict_json;
use crate::service::Actor;
use crate::service::once::OnceKey;

/// The largest bodies that are taken, in bytes.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Of a JSON body.
    pub body: usize,
    /// Of an import.
    pub import: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            body: 1 << 20,
            import: 512 << 20,
        }
    }
}

fn limits(request: &HttpRequest) -> Limits {
    request.app_data::<Limits>().copied().unwrap_or_default()
}

/// A JSON body, checked whole. For operations whose path names no record.
#[derive(Debug)]
pub struct Checked<T>(pub T);

/// A JSON body that is read by the handler, once it knows that the record of the path exists: only
/// then is a wrong type or size told.
#[derive(Debug)]
pub struct Unread<T> {
    raw: Result<Bytes, Problem>,
    of: PhantomData<fn() -> T>,
}

impl<T: Body> Unread<T> {
    /// Reads and checks it.
    ///
    /// # Errors
    /// `unsupported_media_type`, `payload_too_large`, `bad_json`, or every fault.
    pub fn read(&self) -> Result<T, Problem> {
        read(self.raw.as_ref().map_err(Problem::clone)?)
    }
}

/// A JSON body and the once-only key that it came with.
#[derive(Debug)]
pub struct OnceOnly<T> {
    /// Under which the answer is kept.
    pub key: OnceKey,
    /// The command.
    pub body: T,
}

/// A JSON body and its once-only key, read by the handler once it knows that the record of the path
/// exists.
#[derive(Debug)]
pub struct UnreadOnce<T> {
    raw: Result<Bytes, Problem>,
    key: KeyHeader,
    of: PhantomData<fn() -> T>,
}

impl<T: Body> UnreadOnce<T> {
    /// The once-only key, then the body.
    ///
    /// # Errors
    /// `unsupported_media_type`, `payload_too_large`, `once_key_missing`, `bad_json`, or every fault.
    pub fn read(&self, actor: &Actor) -> Result<OnceOnly<T>, Problem> {
        let raw = self.raw.as_ref().map_err(Problem::clone)?;
        let key = self.key.of(actor, raw)?;
        Ok(OnceOnly {
            key,
            body: read(raw)?,
        })
    }
}

/// The table of an import, and the header with its once-only key. A large one lies in a file of the
/// system's folder for such, which is gone with it.
#[derive(Debug)]
pub struct Csv {
    /// The table as it came.
    pub table: SpooledTempFile,
    /// SHA-256 of it: what "the same body" means.
    pub digest: [u8; 32],
    /// Needed unless the import is a dry run.
    pub key: KeyHeader,
}

/// A command whose path says all: its once-only key, and no body but `{}`.
#[derive(Debug)]
pub struct Bare {
    raw: Result<Bytes, Problem>,
    /// Under which the answer is kept.
    pub key: KeyHeader,
}

impl Bare {
    /// The once-only key.
    ///
    /// # Errors
    /// `payload_too_large`, `once_key_missing`; `invalid` where there is a body that says something.
    pub fn read(&self, actor: &Actor) -> Result<OnceKey, Problem> {
        let raw = self.raw.as_ref().map_err(Problem::clone)?;
        let key = self.key.of(actor, raw)?;
        no_body(raw).map(|()| key)
    }
}

/// The body of an operation whose path says all: none but `{}`; looked at by the handler, once it knows
/// that the record of the path exists.
#[derive(Debug)]
pub struct NoBody(Result<Bytes, Problem>);

impl NoBody {
    /// Refuses one that says something.
    ///
    /// # Errors
    /// `payload_too_large`, `invalid`.
    pub fn read(&self) -> Result<(), Problem> {
        no_body(self.0.as_ref().map_err(Problem::clone)?)
    }
}

fn no_body(raw: &[u8]) -> Result<(), Problem> {
    match raw.trim_ascii() {
        b"" | b"{}" => Ok(()),
        _ => Err(Problem::fault(
            "#",
            FaultCode::UnknownMember,
            "this operation takes no body",
        )),
    }
}

/// A command whose body may be left out, and the once-only key that it came with; read by the handler,
/// once it knows that the record of the path exists.
#[derive(Debug)]
pub struct Optional<T> {
    raw: Result<Bytes, Problem>,
    key: KeyHeader,
    of: PhantomData<fn() -> T>,
}

impl<T: Body> Optional<T> {
    /// The once-only key and the body; nothing is the same as `{}`.
    ///
    /// # Errors
    /// As [`OnceOnly`].
    pub fn read(&self, actor: &Actor) -> Result<(OnceKey, T), Problem> {
        let raw = self.raw.as_ref().map_err(Problem::clone)?;
        let key = self.key.of(actor, raw)?;
        let said = if raw.is_empty() { b"{}" } else { raw.as_ref() };
        Ok((key, read(said)?))
    }
}

/// The identifier in the path.
#[derive(Debug, Clone, Copy)]
pub struct Id(pub Uuid);

impl FromRequest for Id {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let text = request.match_info().get("id").unwrap_or_default();
        ready(text.parse().map(Self).map_err(|_| {
            Problem::fault("/id", FaultCode::WrongForm, format!("{text:?} is no UUID"))
        }))
    }
}

impl IntoParams for Id {
    fn into_params(_: impl Fn() -> Option<ParameterIn>) -> Vec<Parameter> {
        let uuid = ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::String))
            .format(Some(SchemaFormat::Custom("uuid".into())));
        let id = ParameterBuilder::new()
            .name("id")
            .parameter_in(ParameterIn::Path)
            .required(Required::True)
            .description(Some("UUID v7 made by the service."))
            .schema(Some(uuid));
        vec![id.build()]
    }
}

impl<T: Body> FromRequest for Unread<T> {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let arriving = arriving(request, payload, T::MEDIA, limits(request).body);
        Box::pin(async move {
            let raw = match arriving {
                Ok(arriving) => arriving.whole().await,
                Err(refused) => Err(refused),
            };
            let of = PhantomData;
            Ok(Self { raw, of })
        })
    }
}

impl<T: Body> FromRequest for UnreadOnce<T> {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let unread = Unread::<T>::from_request(request, payload);
        let key = KeyHeader::of_request(request);
        Box::pin(async move {
            let Unread { raw, of } = unread.await?;
            Ok(Self { raw, key, of })
        })
    }
}

impl<T: Body> FromRequest for Checked<T> {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let arriving = arriving(request, payload, T::MEDIA, limits(request).body);
        Box::pin(async move { read(&arriving?.whole().await?).map(Self) })
    }
}

impl<T: Body> FromRequest for OnceOnly<T> {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let arriving = arriving(request, payload, T::MEDIA, limits(request).body);
        let key = KeyHeader::of_request(request);
        let actor = crate::http::guard::actor(request);
        Box::pin(async move {
            let raw = arriving?.whole().await?;
            let key = key.of(&actor?, &raw)?;
            Ok(Self {
                key,
                body: read(&raw)?,
            })
        })
    }
}

impl<T: Body> FromRequest for Optional<T> {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let headers = request.headers();
        let bare = !headers.contains_key(header::CONTENT_TYPE)
            && !headers.contains_key(header::TRANSFER_ENCODING)
            && headers.get(header::CONTENT_LENGTH).is_none_or(|v| v == "0");
        let arriving = (!bare).then(|| arriving(request, payload, T::MEDIA, limits(request).body));
        let key = KeyHeader::of_request(request);
        Box::pin(async move {
            let raw = match arriving {
                None => Ok(Bytes::new()),
                Some(Ok(arriving)) => arriving.whole().await,
                Some(Err(refused)) => Err(refused),
            };
            let of = PhantomData;
            Ok(Self { raw, key, of })
        })
    }
}

impl FromRequest for Csv {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let arriving = arriving(request, payload, &["text/csv"], limits(request).import);
        let key = KeyHeader::of_request(request);
        Box::pin(async move {
            let (table, digest) = arriving?.kept().await?;
            Ok(Self { table, digest, key })
        })
    }
}

impl FromRequest for NoBody {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let arriving = Arriving::of(payload, limits(request).body);
        Box::pin(async move { Ok(Self(arriving.whole().await)) })
    }
}

impl FromRequest for Bare {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let body = NoBody::from_request(request, payload);
        let key = KeyHeader::of_request(request);
        Box::pin(async move {
            let NoBody(raw) = body.await?;
            Ok(Self { raw, key })
        })
    }
}

fn read<T: Body>(raw: &[u8]) -> Result<T, Problem> {
    let value = strict_json::read(raw).map_err(|detail| Problem::new(&BAD_JSON, detail))?;
    T::check(value).map_err(Problem::faults)
}
