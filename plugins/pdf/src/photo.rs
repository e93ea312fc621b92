//! Checks photos before they are set, so that a damaged one is named and no half report is made.

use krilla::image::Image;
use pages::model::{Photo, PhotoFormat};
use std::sync::Arc;

/// The photo as the PDF library sees it: JPEG bytes are passed on unchanged.
pub(crate) fn image(photo: &Photo) -> Result<Image, String> {
    let data: Arc<dyn AsRef<[u8]> + Send + Sync> = Arc::new(Shared(Arc::clone(&photo.bytes)));
    match photo.format {
        PhotoFormat::Jpeg => Image::from_jpeg(data.into(), false),
        PhotoFormat::Png => Image::from_png(data.into(), false),
    }
}

/// Says why a photo can't be set.
pub(crate) fn check(photo: &Photo) -> Result<(), String> {
    image(photo).map(|_| ())
}

struct Shared(Arc<Vec<u8>>);

impl AsRef<[u8]> for Shared {
    fn as_ref(&self) -> &[u8] {
        &self.0
    }
}
