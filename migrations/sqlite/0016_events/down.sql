DROP TABLE delivery_attempts;
DROP TABLE deliveries;
DROP TABLE webhook_secrets;
DROP TABLE webhooks;
DROP TABLE parts_low;
DROP TABLE events;
