DROP TABLE rota_feed;
