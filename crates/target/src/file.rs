//! The file format of target definitions, and the way from its text to targets. `calibration/README.md` explains
//! the format to its authors.

use crate::target::{Kind, Page, Parts, TagPlace, Target};
use crate::{Error, check, layout, tag36h11};
use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, Visitor};
use shimwright_geom::Vec2;
use std::fmt;
use std::marker::PhantomData;

/// Reads a whole file: its targets in file order, each checked by itself.
pub(crate) fn read(text: &str) -> Result<Vec<Target>, Error> {
    check::count("bytes of target definitions", text.len(), 1, MAX_BYTES)?;
    let file: FileForm = serde_json::from_str(text).map_err(|e| Error::Unreadable {
        message: e.to_string(),
    })?;
    // Words after the name (dictionary, border) are for the reader.
    if file.family.split_whitespace().next() != Some("tag36h11") {
        return Err(Error::Family { found: file.family });
    }
    if file.units != "mm" {
        return Err(Error::Units { found: file.units });
    }
    check::count("targets", file.targets.0.len(), 1, MAX_TARGETS)?;
    file.targets
        .0
        .into_iter()
        .map(|(key, form)| form.into_target(key))
        .collect()
}

const MAX_BYTES: usize = 1 << 20;
const MAX_TARGETS: usize = 32;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileForm {
    family: String,
    units: String,
    #[serde(rename = "frame")]
    _frame: Option<String>,
    #[serde(rename = "corner_order")]
    _corner_order: Option<String>,
    #[serde(rename = "saddle_order")]
    _saddle_order: Option<String>,
    targets: Pairs<TargetForm>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
enum KindForm {
    Charuco,
    Ring,
    Tags,
}

impl KindForm {
    fn name(self) -> &'static str {
        match self {
            KindForm::Charuco => "charuco",
            KindForm::Ring => "ring",
            KindForm::Tags => "tags",
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TargetForm {
    kind: KindForm,
    name: Option<String>,
    version: Option<u32>,
    note: Option<String>,
    #[serde(rename = "layout")]
    _layout: Option<String>,
    squares: Option<[u32; 2]>,
    square_mm: Option<f64>,
    marker_mm: Option<f64>,
    #[serde(default)]
    legacy: bool,
    page_mm: Option<[f64; 2]>,
    page_origin_in_frame_mm: Option<[f64; 2]>,
    outer_d_mm: Option<f64>,
    hole_d_mm: Option<f64>,
    tag_mm: Option<f64>,
    tag_radius_mm: Option<f64>,
    first_id: Option<u32>,
    tag_count: Option<u32>,
    tags: Option<Pairs<[[f64; 2]; 4]>>,
    saddles: Option<Pairs<[f64; 2]>>,
}

impl TargetForm {
    fn into_target(self, key: String) -> Result<Target, Error> {
        if let Some(name) = self.name.clone().filter(|name| *name != key) {
            return Err(Error::NameDiffers { key, name });
        }
        if self.legacy {
            return Err(Error::Legacy { target: key });
        }
        let draft = Draft {
            name: &key,
            form: &self,
        };
        draft.refuse_foreign_keys()?;
        let listed = draft.listed_tags()?;
        let kind = draft.kind()?;
        check::measures(&key, &kind)?;
        let tags = draft.tags(&kind, listed)?;
        if let (
            Kind::Board {
                columns,
                rows,
                square_mm,
                ..
            },
            Some(saddles),
        ) = (kind, &self.saddles)
        {
            draft.compare_saddles(saddles, &layout::board_saddles(columns, rows, square_mm))?;
        }
        let page = draft.page()?;
        let (version, note) = (self.version.unwrap_or(1), self.note.unwrap_or_default());
        Target::new(Parts {
            name: key,
            version,
            note,
            kind,
            page,
            tags,
        })
    }
}

/// A target's form together with its name, for messages.
struct Draft<'a> {
    name: &'a str,
    form: &'a TargetForm,
}

impl Draft<'_> {
    fn need<T>(&self, key: &'static str, value: Option<T>) -> Result<T, Error> {
        value.ok_or_else(|| Error::Missing {
            target: self.name.to_owned(),
            key,
        })
    }

    fn refuse_foreign_keys(&self) -> Result<(), Error> {
        use KindForm::{Charuco, Ring, Tags};
        let f = self.form;
        let (board, ring) = (matches!(f.kind, Charuco), matches!(f.kind, Ring));
        let foreign = [
            ("squares", f.squares.is_some(), board),
            ("square_mm", f.square_mm.is_some(), board),
            ("marker_mm", f.marker_mm.is_some(), board),
            ("saddles", f.saddles.is_some(), board),
            ("outer_d_mm", f.outer_d_mm.is_some(), ring),
            ("hole_d_mm", f.hole_d_mm.is_some(), ring),
            ("tag_mm", f.tag_mm.is_some(), ring),
            ("tag_radius_mm", f.tag_radius_mm.is_some(), ring),
            ("tag_count", f.tag_count.is_some(), ring),
            ("first_id", f.first_id.is_some(), !matches!(f.kind, Tags)),
            ("page_mm", f.page_mm.is_some(), !ring),
            (
                "page_origin_in_frame_mm",
                f.page_origin_in_frame_mm.is_some(),
                !ring,
            ),
        ];
        match foreign.iter().find(|(_, given, known)| *given && !known) {
            Some(&(key, ..)) => Err(Error::Unexpected {
                target: self.name.to_owned(),
                kind: f.kind.name(),
                key,
            }),
            None => Ok(()),
        }
    }

    fn listed_tags(&self) -> Result<Option<Vec<TagPlace>>, Error> {
        let Some(pairs) = &self.form.tags else {
            return Ok(None);
        };
        check::count(
            &format!("tags of \"{}\"", self.name),
            pairs.0.len(),
            1,
            check::MAX_TAGS,
        )?;
        let mut tags = Vec::with_capacity(pairs.0.len());
        for (key, corners) in &pairs.0 {
            tags.push(TagPlace {
                id: self.id(key)?,
                corners: corners.map(Vec2::from),
            });
        }
        check::ids(self.name, &tags)?;
        Ok(Some(tags))
    }

    fn id(&self, key: &str) -> Result<u32, Error> {
        key.parse().map_err(|_| Error::BadId {
            target: self.name.to_owned(),
            key: key.to_owned(),
        })
    }

    fn kind(&self) -> Result<Kind, Error> {
        let f = self.form;
        Ok(match f.kind {
            KindForm::Charuco => {
                let [columns, rows] = self.need("squares", f.squares)?;
                let square_mm = self.need("square_mm", f.square_mm)?;
                Kind::Board {
                    columns,
                    rows,
                    square_mm,
                    marker_mm: self.need("marker_mm", f.marker_mm)?,
                }
            }
            KindForm::Ring => Kind::Ring {
                outer_diameter_mm: self.need("outer_d_mm", f.outer_d_mm)?,
                hole_diameter_mm: self.need("hole_d_mm", f.hole_d_mm)?,
                tag_mm: self.need("tag_mm", f.tag_mm)?,
                tag_radius_mm: self.need("tag_radius_mm", f.tag_radius_mm)?,
            },
            KindForm::Tags => Kind::Tags,
        })
    }

    /// The tags that follow from the measures, to the last digit; a list beside them is compared with them.
    fn tags(&self, kind: &Kind, listed: Option<Vec<TagPlace>>) -> Result<Vec<TagPlace>, Error> {
        let lowest = listed.as_ref().and_then(|tags| tags.iter().map(|t| t.id).min());
        let first_id = || {
            let id = self.need("first_id", self.form.first_id.or(lowest))?;
            let target = || self.name.to_owned();
            if id < tag36h11::COUNT {
                Ok(id)
            } else {
                Err(Error::IdBeyondFamily { target: target(), id })
            }
        };
        let by_layout = match *kind {
            Kind::Tags => return self.need("tags", listed),
            Kind::Board {
                columns,
                rows,
                square_mm,
                marker_mm,
            } => layout::board_tags((columns, rows), square_mm, marker_mm, first_id()?),
            Kind::Ring {
                tag_mm,
                tag_radius_mm,
                ..
            } => {
                let listed = listed.as_ref().and_then(|tags| u32::try_from(tags.len()).ok());
                let count = self.need("tag_count", self.form.tag_count.or(listed))?;
                check::count(
                    &format!("tags of \"{}\"", self.name),
                    count as usize,
                    1,
                    check::MAX_TAGS,
                )?;
                layout::ring_tags(count, tag_mm, tag_radius_mm, first_id()?)
            }
        };
        if let Some(listed) = listed {
            self.compare_tags(&listed, &by_layout)?;
        }
        Ok(by_layout)
    }

    fn compare_tags(&self, listed: &[TagPlace], by_layout: &[TagPlace]) -> Result<(), Error> {
        let what = format!("tags listed for \"{}\"", self.name);
        check::count(&what, listed.len(), by_layout.len(), by_layout.len())?;
        for tag in listed {
            // An id that the layout has not is as wrong as one in the wrong place.
            let place = by_layout.iter().find(|t| t.id == tag.id);
            let off_mm = place.map_or(f64::INFINITY, |place| {
                (0..4)
                    .map(|k| (place.corners[k] - tag.corners[k]).norm())
                    .fold(0.0, f64::max)
            });
            self.near("tag", tag.id, off_mm)?;
        }
        Ok(())
    }

    fn compare_saddles(
        &self,
        listed: &Pairs<[f64; 2]>,
        by_layout: &[crate::SaddlePlace],
    ) -> Result<(), Error> {
        let what = format!("saddles listed for \"{}\"", self.name);
        check::count(&what, listed.0.len(), by_layout.len(), by_layout.len())?;
        let mut seen = vec![false; by_layout.len()];
        for (key, at) in &listed.0 {
            let index = self.id(key)?;
            let place = by_layout.get(index as usize);
            let off_mm = place.map_or(f64::INFINITY, |place| (place.at - Vec2::from(*at)).norm());
            self.near("saddle", index, off_mm)?;
            if std::mem::replace(&mut seen[index as usize], true) {
                let name = self.name.to_owned();
                return Err(Error::DuplicateId {
                    id: index,
                    first: name.clone(),
                    second: name,
                });
            }
        }
        Ok(())
    }

    fn near(&self, what: &'static str, id: u32, off_mm: f64) -> Result<(), Error> {
        if off_mm <= check::PLACE_TOLERANCE_MM {
            return Ok(());
        }
        Err(Error::OffLayout {
            target: self.name.to_owned(),
            what,
            id,
            off_mm,
        })
    }

    fn page(&self) -> Result<Option<Page>, Error> {
        let f = self.form;
        if f.page_mm.is_none() && f.page_origin_in_frame_mm.is_none() {
            return Ok(None);
        }
        let size = Vec2::from(self.need("page_mm", f.page_mm)?);
        let origin = Vec2::from(self.need("page_origin_in_frame_mm", f.page_origin_in_frame_mm)?);
        Ok(Some(Page { origin, size }))
    }
}

/// A JSON object with every entry kept in file order, so that a key given twice is seen and not overwritten.
struct Pairs<V>(Vec<(String, V)>);

impl<'de, V: Deserialize<'de>> Deserialize<'de> for Pairs<V> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct PairsVisitor<V>(PhantomData<V>);

        impl<'de, V: Deserialize<'de>> Visitor<'de> for PairsVisitor<V> {
            type Value = Pairs<V>;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }

        deserializer.deserialize_map(PairsVisitor(PhantomData))
    }
}
