//! Checks photos before they are set, so that a damaged one is named and no half report is made.

use krilla::image::Image;
use pages::drawing::Shape;
use pages::model::{Photo, PhotoFormat, Picture, Pictures};
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

/// Name of the file that an image is from: the content of a photo is only read when the PDF is put together.
pub(crate) fn name_of(wanted: &Image, pictures: &Pictures) -> String {
    fn find<'p>(wanted: &Image, shapes: &'p [Shape]) -> Option<&'p Photo> {
        shapes.iter().find_map(|shape| match shape {
            Shape::Photo { photo, .. } => is(wanted, photo).then_some(&**photo),
            Shape::Clip { shapes, .. } => find(wanted, shapes),
            _ => None,
        })
    }
    fn is(wanted: &Image, photo: &Photo) -> bool {
        image(photo).is_ok_and(|image| image == *wanted)
    }
    let found = pictures.values().find_map(|picture| match picture {
        Picture::Photo(photo) => is(wanted, photo).then_some(photo),
        Picture::Drawing(drawing) => find(wanted, &drawing.shapes),
    });
    found.map_or_else(|| "photo".to_owned(), |photo| photo.name.clone())
}

struct Shared(Arc<Vec<u8>>);

impl AsRef<[u8]> for Shared {
    fn as_ref(&self) -> &[u8] {
        &self.0
    }
}
