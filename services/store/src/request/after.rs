//! What follows a change, kept until the end of its transaction.
//!
//! Belongs here: collecting entries for the record and news for open screens, so that the
//! locks of both chains are taken late and in one order. Does not belong here: what is
//! recorded.

use chrono::{DateTime, Utc};
use sea_orm::ConnectionTrait;
use serde_json::{Value, json};
use uuid::Uuid;

use super::Request;
use crate::error::StoreError;
use crate::live_feed;
use crate::record::{self, Entry};

/// Entries and news, in the order in which they came up.
#[derive(Debug, Default)]
pub(crate) struct After {
    entries: Vec<Entry>,
    news: Vec<(Uuid, &'static str, Uuid, Value)>,
}

impl After {
    /// Notes what happened to a request. The news says where to look and nothing else: it
    /// goes to every screen, a blind reader's included.
    pub(super) fn request(
        &mut self,
        request: &Request,
        actor: Option<Uuid>,
        kind: &'static str,
        body: Value,
    ) {
        self.entries.push(Entry {
            shop_id: request.shop_id,
            actor,
            kind,
            subject_kind: "request",
            subject_id: request.id,
            body,
        });
        let news = [
            (request.shop_id, "request", request.id, json!({ "job_id": request.job_id })),
            (request.shop_id, "job", request.job_id, json!({})),
            (request.shop_id, "standing", request.job_id, json!({})),
        ];
        for one in news {
            if !self.news.contains(&one) {
                self.news.push(one);
            }
        }
    }

    /// Notes what happened to a job.
    pub(crate) fn job(&mut self, shop_id: Uuid, job_id: Uuid, entries: Vec<Entry>) {
        self.entries.extend(entries);
        for topic in ["job", "standing"] {
            let one = (shop_id, topic, job_id, json!({}));
            if !self.news.contains(&one) {
                self.news.push(one);
            }
        }
    }

    /// Puts the entries on the record; they are of one shop.
    pub(crate) async fn record<C: ConnectionTrait>(
        &mut self,
        txn: &C,
        now: DateTime<Utc>,
    ) -> Result<(), StoreError> {
        let entries = std::mem::take(&mut self.entries);
        match entries.first().map(|entry| entry.shop_id) {
            Some(shop_id) => record::append_many(txn, now, shop_id, entries).await.map(drop),
            None => Ok(()),
        }
    }

    /// Notes what open pages are told besides.
    pub(crate) fn tell(&mut self, shop_id: Uuid, news: Vec<live_feed::News>) {
        self.news.extend(news.into_iter().map(|(topic, one, body)| (shop_id, topic, one, body)));
    }

    /// Announces the news; it is of one shop.
    pub(crate) async fn announce<C: ConnectionTrait>(
        self,
        txn: &C,
        now: DateTime<Utc>,
    ) -> Result<(), StoreError> {
        let Some(shop_id) = self.news.first().map(|(shop_id, ..)| *shop_id) else {
            return Ok(());
        };
        let news = self.news.into_iter().map(|(_, topic, one, body)| (topic, one, body));
        live_feed::announce_all(txn, now, shop_id, news.collect()).await
    }
}
