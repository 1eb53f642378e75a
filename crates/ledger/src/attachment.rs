//! Attachments: which files are taken, and what is taken out of pictures.
//!
//! A file is taken for what its content is, whatever its name: JPEG, PNG, WebP, PDF, or
//! plain text in UTF-8 (which CSV is). Everything else is refused by name where it is
//! known.
//!
//! A picture loses everything that isn't picture: where, when and with what it was taken,
//! captions, editing history, embedded previews, and whatever stands behind its end. Its
//! pixels stay as they are, byte by byte; nothing is decoded or compressed anew. What says
//! how the pixels are to be shown stays too: the colour profile, the resolution, and the
//! orientation, as an Exif block that holds nothing else. PDF and text are stored as they
//! came, with whatever they say of their authors.
//!
//! # Where they are kept
//!
//! Table `attachments` has the columns `digest` (BLAKE3 of the content, 32 bytes), `media` (a
//! media type of RFC 6838) and `size` (in bytes). Table `attachment_parts` holds the content in
//! parts of 1,048,576 bytes, the last one shorter, with the columns `digest`, `part` (from 1)
//! and `content`. The digests stand in no chain by themselves: an attachment belongs to the
//! record by an entry whose body names its digest.
//!
//! Since format 4, table `arrivals` holds when each was last sent, `digest` and `arrived_at`
//! (RFC 3339). That is no part of the record: it says of an attachment that no entry names for
//! how long it has waited for one. Such an attachment may be cleared away
//! ([`crate::Store::clear_unnamed`]); nothing else is ever taken out. Triggers let an attachment
//! go only if table `clearing` has its `digest`. That table is empty outside of the transaction
//! that clears, which keeps other programs from doing it by mistake; where it is not, the
//! verification says so, and nothing is cleared.

mod exif;
mod jpeg;
mod png;
mod sniff;
mod webp;

use std::borrow::Cow;

use crate::chain::Digest;

/// Greatest size of an attachment unless the caller says otherwise, in bytes (50 MB).
pub const ATTACHMENT_LIMIT: usize = 50_000_000;

/// What an attachment is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Media {
    /// A JPEG picture.
    Jpeg,
    /// A PNG picture.
    Png,
    /// A WebP picture.
    WebP,
    /// A PDF document.
    Pdf,
    /// Plain text in UTF-8, CSV among it.
    Text,
}

/// A stored attachment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Attachment {
    /// BLAKE3 of the stored content, which is its name.
    pub digest: Digest,
    /// What it is.
    pub media: Media,
    /// Its size in bytes.
    pub size: u64,
}

/// A stored attachment that no entry names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unnamed {
    /// It.
    pub attachment: Attachment,
    /// When it was last sent, in the form of RFC 3339; nothing if that was not noted, as by
    /// older versions.
    pub arrived: Option<String>,
}

/// A file that may be stored, cleaned where it is a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accepted {
    media: Media,
    content: Vec<u8>,
    removed: usize,
}

/// Why a file can't be an attachment.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unfit {
    /// There is nothing in it.
    #[error("the file is empty; look whether it was copied whole")]
    Empty,
    /// It is too large.
    #[error(
        "the file has {size} bytes, more than the {limit} that are allowed; make it smaller \
         (a picture of 4000 pixels a side is enough for print), or keep it elsewhere and \
         enter where"
    )]
    TooLarge {
        /// Its size in bytes.
        size: usize,
        /// The greatest size allowed, in bytes.
        limit: usize,
    },
    /// It is something else.
    #[error(
        "the file looks like {looks_like}; what can be attached is JPEG, PNG, WebP, PDF and \
         plain text in UTF-8 (CSV too), so save it as one of these"
    )]
    Unknown {
        /// What it looks like, with an article.
        looks_like: String,
    },
    /// It begins like what it should be, and then doesn't hold together.
    #[error("the {media} is broken: {why}; look whether it was copied whole")]
    Broken {
        /// What it begins like.
        media: Media,
        /// What is wrong, and at which byte.
        why: String,
    },
}

impl Media {
    const ALL: [Self; 5] = [Self::Jpeg, Self::Png, Self::WebP, Self::Pdf, Self::Text];

    /// The media type of RFC 6838, such as `image/jpeg`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::WebP => "image/webp",
            Self::Pdf => "application/pdf",
            Self::Text => "text/plain",
        }
    }

    /// The usual ending of a file's name, without the dot.
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::WebP => "webp",
            Self::Pdf => "pdf",
            Self::Text => "txt",
        }
    }

    /// The kind with this media type.
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|media| media.name() == name)
    }
}

impl std::fmt::Display for Media {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Jpeg => "JPEG picture",
            Self::Png => "PNG picture",
            Self::WebP => "WebP picture",
            Self::Pdf => "PDF document",
            Self::Text => "text",
        })
    }
}

impl Accepted {
    /// Takes a file of at most `limit` bytes ([`ATTACHMENT_LIMIT`] is the usual one), and
    /// cleans it if it is a picture.
    pub fn new(content: &[u8], limit: usize) -> Result<Self, Unfit> {
        if content.is_empty() {
            return Err(Unfit::Empty);
        }
        if content.len() > limit {
            return Err(Unfit::TooLarge { size: content.len(), limit });
        }
        let media = sniff::media(content)
            .map_err(|looks_like| Unfit::Unknown { looks_like: looks_like.to_owned() })?;
        let cleaned = match media {
            Media::Jpeg => jpeg::clean(content).map(Cow::Owned),
            Media::Png => png::clean(content).map(Cow::Owned),
            Media::WebP => webp::clean(content).map(Cow::Owned),
            Media::Pdf => sniff::whole_pdf(content).map(|()| Cow::Borrowed(content)),
            Media::Text => Ok(Cow::Borrowed(content)),
        };
        let cleaned = cleaned.map_err(|why| Unfit::Broken { media, why })?.into_owned();
        let removed = content.len().saturating_sub(cleaned.len());
        Ok(Self { media, content: cleaned, removed })
    }

    /// What it is.
    pub fn media(&self) -> Media {
        self.media
    }

    /// What will be stored.
    pub fn content(&self) -> &[u8] {
        &self.content
    }

    /// How many bytes of the file won't be stored, because they were no picture.
    pub fn removed(&self) -> usize {
        self.removed
    }
}

/// Why a file is broken: a sentence, with the byte where it shows.
type Broken = String;

/// The bytes `at..at + len`, or why there aren't so many.
fn slice(bytes: &[u8], at: usize, len: usize) -> Result<&[u8], Broken> {
    let end = at.checked_add(len);
    end.and_then(|end| bytes.get(at..end)).ok_or_else(|| {
        format!("it ends at byte {}, within the part that begins at {at}", bytes.len())
    })
}
