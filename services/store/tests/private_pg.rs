//! The private PostgreSQL: starting, finding data again, stopping, and schema both ways.

// Helpers of tests may give up as tests do.
#![allow(clippy::unwrap_used)]

use migrations::{Migrator, MigratorTrait as _};
use sea_orm::ConnectionTrait as _;
use store::ambient::{Ambient, Generator};
use store::private_pg::{Options, PrivatePg};
use store::{Store, testbed};

fn start(options: &Options) -> PrivatePg {
    PrivatePg::start(options, &Generator::from_os().unwrap()).unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn data_is_found_again_after_a_stop_and_after_a_kill() {
    let root = tempfile::Builder::new().prefix("countersign-pg-").tempdir().unwrap();
    // Reachable by the account that root hands the server to.
    let mode = std::os::unix::fs::PermissionsExt::from_mode(0o755);
    std::fs::set_permissions(root.path(), mode).unwrap();
    let options = Options { folder: root.path().join("pg"), durable: true };
    let ambient = || Ambient::from_os().unwrap();

    let first = start(&options);
    assert!(first.moved_because().is_none());
    first.database_ensure("shop", None).await.unwrap();
    let store = Store::connect(&first.url("shop"), ambient(), 2).await.unwrap();
    store.conn().execute_unprepared("CREATE TABLE kept (n int)").await.unwrap();
    store.conn().execute_unprepared("INSERT INTO kept VALUES (1)").await.unwrap();
    store.close().await;
    first.stop();
    assert!(!options.folder.join("data/postmaster.pid").exists(), "the stop was not clean");

    let second = start(&options);
    let store = Store::connect(&second.url("shop"), ambient(), 2).await.unwrap();
    store.conn().execute_unprepared("INSERT INTO kept VALUES (2)").await.unwrap();
    store.close().await;
    let pid = nix::unistd::Pid::from_raw(i32::try_from(second.pid()).unwrap());
    nix::sys::signal::kill(pid, nix::sys::signal::Signal::SIGKILL).unwrap();
    second.stop();

    let third = start(&options);
    third.database_ensure("shop", None).await.unwrap();
    let store = Store::connect(&third.url("shop"), ambient(), 2).await.unwrap();
    let row = store
        .conn()
        .query_one_raw(store::db::sql("SELECT count(*) AS n FROM kept", []))
        .await
        .unwrap()
        .unwrap();
    assert_eq!(row.try_get::<i64>("", "n").unwrap(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_second_server_on_the_same_data_is_refused_in_words() {
    let server = testbed::server().await.unwrap();
    let options = Options { folder: server.folder().to_owned(), durable: false };

    let refused = tokio::task::spawn_blocking(move || {
        PrivatePg::start(&options, &Generator::from_os().unwrap())
    })
    .await
    .unwrap()
    .unwrap_err();

    let cause = std::error::Error::source(&refused).unwrap().to_string();
    assert!(cause.contains("another Countersign uses the data"), "{cause}");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_migration_can_be_undone_and_applied_again() {
    let store = testbed::store("both_ways", Ambient::from_os().unwrap()).await.unwrap();

    Migrator::down(store.conn(), None).await.unwrap();
    store.migrate().await.unwrap();

    store.ping().await.unwrap();
}
