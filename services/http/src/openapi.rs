//! The OpenAPI document, collected from the routes themselves.
//!
//! Belongs here: the document, the engine's shapes inside it, and which methods an address
//! answers. Does not belong here: descriptions of single routes, which stand on the routes.
//!
//! The engine's shapes have one source, their schemars derive: [`engine_shape!`] makes a thin
//! wrapper that refers to a component by name, and the components are filled in from schemars.

use actix_web::{App, HttpResponse, web};
use schemars::SchemaGenerator;
use schemars::generate::SchemaSettings;
use serde_json::{Value, json};
use utoipa_actix_web::AppExt as _;

use crate::app;
use crate::app::AppState;

/// The document and what is looked up in it.
pub struct Document {
    json: String,
    paths: Vec<(Vec<String>, String)>,
}

impl Document {
    /// Collects the document from the routes.
    pub fn build() -> Self {
        let value = document();
        let paths = value["paths"]
            .as_object()
            .into_iter()
            .flatten()
            .map(|(path, item)| {
                let methods: Vec<_> = item
                    .as_object()
                    .into_iter()
                    .flatten()
                    .map(|(method, _)| method.to_uppercase())
                    .collect();
                (path.split('/').map(str::to_owned).collect(), methods.join(", "))
            })
            .collect();
        Document { json: text(&value), paths }
    }

    /// The methods that an address answers, where it is one of the API's.
    pub fn methods_of(&self, path: &str) -> Option<String> {
        let segments: Vec<_> = path.split('/').collect();
        self.paths
            .iter()
            .find(|(template, _)| {
                template.len() == segments.len()
                    && template
                        .iter()
                        .zip(&segments)
                        .all(|(expected, segment)| expected.starts_with('{') || expected == segment)
            })
            .map(|(_, methods)| methods.clone())
    }

    /// The document as it is committed and served.
    pub fn json(&self) -> &str {
        &self.json
    }
}

/// The document as a value.
pub fn document() -> Value {
    let (_, api) = App::new().into_utoipa_app().configure(app::routes).split_for_parts();
    let mut document = serde_json::to_value(&api).unwrap_or_else(|_| json!({}));
    document["info"] = json!({
        "title": "Countersign",
        "version": env!("CARGO_PKG_VERSION"),
        "description": "The condemn gate: evidence, second read, approval. Every write carries \
            an Idempotency-Key; every refusal is a problem (RFC 9457). Times are RFC 3339 in UTC.",
    });
    document["components"]["securitySchemes"] =
        json!({ "bearer": { "type": "http", "scheme": "bearer", "bearerFormat": "JWT" } });
    document["security"] = json!([{ "bearer": [] }]);
    if let Some(schemas) = document["components"]["schemas"].as_object_mut() {
        for (name, schema) in engine_schemas() {
            schemas.insert(name, schema);
        }
    }
    document
}

/// A document as committed: indented, keys in order, one newline at the end.
pub fn text(document: &Value) -> String {
    let mut text = serde_json::to_string_pretty(document).unwrap_or_default();
    text.push('\n');
    text
}

/// The engine's shapes as components, each with everything it refers to.
fn engine_schemas() -> serde_json::Map<String, Value> {
    let mut settings = SchemaSettings::draft2020_12();
    settings.definitions_path = "/components/schemas".into();
    let mut generator = SchemaGenerator::new(settings);
    generator.subschema_for::<engine::case::Case>();
    generator.subschema_for::<engine::verdict::Verdict>();
    generator.subschema_for::<engine::verdict::plan::TestPlan>();
    generator.subschema_for::<engine::circuit::Circuit>();
    generator.subschema_for::<engine::policy::Policy>();
    generator.take_definitions(true)
}

/// Makes a wrapper that is sent as the engine's type and documented as the component of that
/// name.
macro_rules! engine_shape {
    ($(#[$doc:meta])* $wrapper:ident = $inner:ty as $name:literal) => {
        $(#[$doc])*
        #[derive(Clone, Debug, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $wrapper(pub $inner);

        impl utoipa::PartialSchema for $wrapper {
            fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::schema::Schema> {
                // Replaced by the schemars schema of the same name in `document`.
                utoipa::openapi::schema::Object::new().into()
            }
        }

        impl utoipa::ToSchema for $wrapper {
            fn name() -> std::borrow::Cow<'static, str> {
                $name.into()
            }
        }

        impl From<$inner> for $wrapper {
            fn from(inner: $inner) -> Self {
                $wrapper(inner)
            }
        }
    };
}

engine_shape!(
    /// A case.
    CaseShape = engine::case::Case as "Case"
);
engine_shape!(
    /// A verdict.
    VerdictShape = engine::verdict::Verdict as "Verdict"
);
engine_shape!(
    /// A plan of tests.
    TestPlanShape = engine::verdict::plan::TestPlan as "TestPlan"
);
engine_shape!(
    /// A circuit.
    CircuitShape = engine::circuit::Circuit as "Circuit"
);
engine_shape!(
    /// A reading.
    ReadingShape = engine::case::Reading as "Reading"
);
engine_shape!(
    /// A claim.
    ClaimShape = engine::case::Claim as "Claim"
);
engine_shape!(
    /// A value from the nameplate or the service sheet.
    SpecShape = engine::case::Spec as "Spec"
);
engine_shape!(
    /// A shop's thresholds.
    PolicyShape = engine::policy::Policy as "Policy"
);

/// The document's address.
pub(crate) fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/api/openapi.json", web::get().to(openapi_show));
}

async fn openapi_show(state: web::Data<AppState>) -> HttpResponse {
    HttpResponse::Ok().content_type("application/json").body(state.document.json().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reference_leads_somewhere() {
        let document = document();

        let mut missing = Vec::new();
        references(&document, &mut |reference| {
            if document.pointer(reference.trim_start_matches('#')).is_none() {
                missing.push(reference.to_owned());
            }
        });

        assert_eq!(missing, Vec::<String>::new());
    }

    #[test]
    fn no_shape_of_the_api_has_the_name_of_another_of_the_engine() {
        let (_, api) = App::new().into_utoipa_app().configure(app::routes).split_for_parts();
        let ours = serde_json::to_value(&api).unwrap();
        let clash: Vec<&String> = ours["components"]["schemas"]
            .as_object()
            .unwrap()
            .iter()
            // A wrapper of `engine_shape!` is an empty object under the engine's name.
            .filter(|(_, schema)| schema.get("properties").is_some())
            .map(|(name, _)| name)
            .filter(|name| engine_schemas().contains_key(*name))
            .collect();

        assert_eq!(clash, Vec::<&String>::new());
    }

    #[test]
    fn every_route_says_what_it_is() {
        let document = document();
        for (path, item) in document["paths"].as_object().unwrap() {
            for (method, operation) in item.as_object().unwrap() {
                assert!(
                    operation["summary"].is_string() || operation["description"].is_string(),
                    "{method} {path} has no words"
                );
            }
        }
    }

    #[test]
    fn an_address_knows_its_methods() {
        let document = Document::build();

        assert_eq!(document.methods_of("/api/customers").as_deref(), Some("GET, POST"));
        assert_eq!(document.methods_of("/api/nowhere"), None);
    }

    fn references(value: &Value, see: &mut impl FnMut(&str)) {
        match value {
            Value::Object(map) => {
                if let Some(Value::String(reference)) = map.get("$ref") {
                    see(reference);
                }
                map.values().for_each(|value| references(value, see));
            }
            Value::Array(values) => values.iter().for_each(|value| references(value, see)),
            _ => {}
        }
    }
}
