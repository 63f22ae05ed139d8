DROP INDEX movements_created;
DROP INDEX movements_actor;
