//! What a browser sends: the pairs of a form, and a file with them.

use axum::{
    body::Bytes,
    extract::{FromRequest, Multipart, Request, multipart::MultipartError},
    http::{StatusCode, header},
};
use source_file::{Problem, SourceFile, quoted};

use crate::{mistake::Mistake, packed::MOST_BYTES};

/// The field of a file.
pub(crate) const FILE: &str = "file";

/// The longest name of a file that is shown, in characters.
const LONGEST_NAME: usize = 80;

/// A form as it was sent.
#[derive(Debug, Default)]
pub(crate) struct Sent {
    pub(crate) pairs: Vec<(String, String)>,
    /// A file that was chosen, or why it cannot be read.
    pub(crate) file: Option<Result<SourceFile, Mistake>>,
}

impl Sent {
    /// Takes a request in. A form says how it is written.
    pub(crate) async fn of(request: Request) -> Result<Self, Mistake> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let kind = kind.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
        match kind.as_str() {
            "application/x-www-form-urlencoded" => {
                let body = Bytes::from_request(request, &()).await.map_err(|rejection| broken(rejection.status()))?;
                let pairs = form_urlencoded::parse(&body).map(|(name, value)| (name.into_owned(), value.into_owned()));
                Ok(Self { pairs: pairs.collect(), file: None })
            }
            "multipart/form-data" => {
                let parts = Multipart::from_request(request, &()).await.map_err(|_| {
                    let missing = Problem::new("the form does not say what stands between its fields");
                    Mistake::Request(
                        StatusCode::BAD_REQUEST,
                        missing.help("send `Content-Type: multipart/form-data` with a `boundary`"),
                    )
                })?;
                Self::of_parts(parts).await
            }
            _ => Err(Mistake::Request(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                Problem::new(format!("{} is no form", if kind.is_empty() { "this".to_owned() } else { quoted(&kind) }))
                    .help("send it as `application/x-www-form-urlencoded` or as `multipart/form-data`"),
            )),
        }
    }

    async fn of_parts(mut parts: Multipart) -> Result<Self, Mistake> {
        let mut sent = Self::default();
        while let Some(part) = parts.next_field().await.map_err(|error| malformed(&error))? {
            let Some(name) = part.name().map(str::to_owned) else {
                let nameless = Problem::new("a field of the form has no name");
                return Err(Mistake::Request(StatusCode::BAD_REQUEST, nameless));
            };
            let file_name = part.file_name().map(shown);
            let bytes = part.bytes().await.map_err(|error| malformed(&error))?;
            let Some(file_name) = file_name else {
                let value = String::from_utf8(bytes.to_vec()).map_err(|_| {
                    let garbled = Problem::new(format!("what stands in {} is not UTF-8 text", quoted(&name)));
                    Mistake::Request(StatusCode::BAD_REQUEST, garbled)
                })?;
                sent.pairs.push((name, value));
                continue;
            };
            if name != FILE {
                let elsewhere = Problem::new(format!("there is no field for a file called {}", quoted(&name)));
                return Err(Mistake::Input(elsewhere.help(format!("the field is called `{FILE}`")).into()));
            }
            // A browser sends a field in which no file is chosen, too.
            if file_name.is_empty() && bytes.is_empty() {
                continue;
            }
            if sent.file.is_some() {
                let two = Problem::new("two files were sent");
                return Err(Mistake::Input(two.help("a bike is one file: open them one after the other").into()));
            }
            sent.file = Some(taken(file_name, &bytes));
        }
        Ok(sent)
    }

    /// The last that is said under a name.
    pub(crate) fn get(&self, name: &str) -> Option<&str> {
        self.pairs.iter().rev().find(|pair| pair.0 == name).map(|pair| pair.1.as_str())
    }
}

/// A file as a text.
fn taken(name: String, bytes: &[u8]) -> Result<SourceFile, Mistake> {
    if bytes.len() > MOST_BYTES {
        let long = Problem::new(format!("{} has {} KiB", quoted(&name), bytes.len().div_ceil(1024)));
        let long = long.note(format!("a build file has some kilobytes; {} KiB are the most that are read", MOST_BYTES / 1024));
        return Err(Mistake::Request(StatusCode::PAYLOAD_TOO_LARGE, long.help("is this the file you meant?")));
    }
    let file = SourceFile::from_bytes(name, bytes.to_vec()).map_err(|problem| Mistake::Input(problem.into()))?;
    if file.text().trim().is_empty() {
        return Err(Mistake::Input(Problem::new(format!("{} is empty", quoted(file.name()))).into()));
    }
    Ok(file)
}

/// The name of a file as it is shown: without folders and control characters, and not too long.
fn shown(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    last.chars().filter(|letter| !letter.is_control()).take(LONGEST_NAME).collect()
}

fn malformed(error: &MultipartError) -> Mistake {
    match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => broken(StatusCode::PAYLOAD_TOO_LARGE),
        _ => Mistake::Request(
            StatusCode::BAD_REQUEST,
            Problem::new("the form came in pieces that do not fit together").help("send it again"),
        ),
    }
}

fn broken(status: StatusCode) -> Mistake {
    match status {
        StatusCode::PAYLOAD_TOO_LARGE => {
            Mistake::Request(status, Problem::new("this is more than a form can hold").help("is this the file you meant?"))
        }
        _ => Mistake::Request(StatusCode::BAD_REQUEST, Problem::new("the form broke off").help("send it again")),
    }
}
