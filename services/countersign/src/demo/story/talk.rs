//! What is said in the demo: words, photos, asks, answers, names.
//!
//! Belongs here: how such a message is made, and the one picture, which is drawn here. Does not
//! belong here: who says what when ([`super`]).

use std::io::Cursor;

use engine::case::{Power, Reading};
use image::{ImageFormat, Rgb, RgbImage};
use store::evidence::ask_answer;
use store::photo::photo_keep;
use store::thread::ask::{Ask, Filled};
use store::thread::{MessageBody, MessageKind, Saying, say};
use store::{Caller, StoreError};
use uuid::Uuid;

use super::Telling;

/// The picture's sides, as a phone held upright takes it, smaller.
const WIDTH_PX: u32 = 720;
const HEIGHT_PX: u32 = 960;

impl Telling<'_> {
    async fn says_body(
        &self,
        who: &Caller,
        job_id: Uuid,
        kind: MessageKind,
        body: MessageBody,
    ) -> Result<Uuid, StoreError> {
        self.later(1);
        let saying = Saying { client_key: self.store.new_id(), kind, body };
        Ok(say(self.store, who, job_id, saying).await?.id)
    }

    /// Says something.
    pub(super) async fn says(
        &self,
        who: &Caller,
        job_id: Uuid,
        text: &str,
    ) -> Result<(), StoreError> {
        let body = MessageBody { text: Some(text.to_owned()), ..MessageBody::default() };
        self.says_body(who, job_id, MessageKind::Text, body).await?;
        Ok(())
    }

    /// Says something that names a colleague, who gets a mail.
    pub(super) async fn says_naming(
        &self,
        who: &Caller,
        job_id: Uuid,
        text: &str,
        named: &Caller,
    ) -> Result<(), StoreError> {
        let body = MessageBody {
            text: Some(text.to_owned()),
            mentions: vec![named.person_id],
            ..MessageBody::default()
        };
        self.says_body(who, job_id, MessageKind::Text, body).await?;
        Ok(())
    }

    /// Asks for the reading that is given, of which only the place and the quantity count.
    pub(super) async fn asks(
        &self,
        who: &Caller,
        job_id: Uuid,
        wanted: &Reading,
        why: &str,
    ) -> Result<Uuid, StoreError> {
        let ask = Ask {
            quantity: wanted.quantity,
            from: wanted.from.clone(),
            to: wanted.to.clone(),
            lifted: wanted.lifted.clone(),
            power: Power::Off,
            state: None,
            why: why.to_owned(),
        };
        let body = MessageBody { ask: Some(ask), ..MessageBody::default() };
        self.says_body(who, job_id, MessageKind::Ask, body).await
    }

    /// Fills in an ask's card with what was read.
    pub(super) async fn answers(
        &self,
        who: &Caller,
        job_id: Uuid,
        ask: Uuid,
        read: Reading,
    ) -> Result<(), StoreError> {
        self.later(3);
        let Reading { shown, part_temp_c, stopped_min, meter, .. } = read;
        let filled = Filled { shown, part_temp_c, stopped_min, meter, meter_id: None };
        ask_answer(self.store, who, job_id, ask, filled).await?;
        Ok(())
    }

    /// Shows the burnt plug.
    pub(super) async fn shows_the_plug(
        &self,
        who: &Caller,
        job_id: Uuid,
        text: &str,
    ) -> Result<(), StoreError> {
        let photo = photo_keep(self.store, who, job_id, burnt_plug()?).await?;
        let body = MessageBody {
            text: Some(text.to_owned()),
            photo_id: Some(photo.id),
            ..MessageBody::default()
        };
        self.says_body(who, job_id, MessageKind::Photo, body).await?;
        Ok(())
    }
}

/// A three-pin plug on grey sheet metal, the contact for C black: drawn point by point, so that
/// the demo needs no picture of anybody's.
fn burnt_plug() -> Result<Vec<u8>, StoreError> {
    let (middle_x, middle_y) = (f64::from(WIDTH_PX) / 2.0, f64::from(HEIGHT_PX) / 2.0);
    let contacts = [(-180.0, true), (0.0, false), (180.0, false)];
    let picture = RgbImage::from_fn(WIDTH_PX, HEIGHT_PX, |x, y| {
        // Seen a little askew, as photos are.
        let (x, y) = (f64::from(x) - middle_x, f64::from(y) - middle_y);
        let (across, down) = (x + 0.12 * y, y - 0.12 * x);
        let brushed = 150.0 + 9.0 * (y * 0.9).sin() - y * 0.05 + 5.0 * (x * 0.31 + y * 0.07).sin();
        let mut shade = [brushed, brushed + 3.0, brushed + 6.0];
        if across.abs() < 300.0 && down.abs() < 130.0 {
            let rim = if across.abs() > 284.0 || down.abs() > 114.0 { 34.0 } else { 0.0 };
            shade = [58.0 + rim, 54.0 + rim, 50.0 + rim];
        }
        for (place, burnt) in contacts {
            let (beside, above) = ((across - place).abs(), down.abs());
            if beside < 16.0 && above < 74.0 {
                shade = if burnt { [14.0, 12.0, 11.0] } else { [190.0, 160.0, 92.0] };
                if beside < 5.0 {
                    shade = [10.0, 10.0, 12.0];
                }
            } else if burnt {
                let soot = ((210.0 - beside.hypot(down * 0.8)) / 150.0).clamp(0.0, 1.0);
                shade = shade.map(|tone| tone * (1.0 - 0.85 * soot));
            }
        }
        Rgb(shade.map(|tone| tone.clamp(0.0, 255.0) as u8))
    });
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .map_err(|error| StoreError::corrupt("the demo's photo", error))?;
    Ok(bytes.into_inner())
}
