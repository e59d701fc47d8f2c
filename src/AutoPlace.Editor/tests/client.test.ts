import assert from "node:assert/strict";
import { test } from "node:test";
import { brokenOff, refusal, startService } from "./fakePage.ts";
import { service, ServiceAway, ServiceError } from "../src/service/client.ts";

test("a connection that is lost within an answer's body means that the service is away", async () => {
  const fake = startService();
  fake.on("GET /v1/heads", brokenOff);
  fake.on("GET /v1/heads/a/mesh.glb", brokenOff);
  await assert.rejects(service.heads(), ServiceAway);
  await assert.rejects(service.headMesh("a"), ServiceAway);
});

test("a service that can't be reached, or whose gateway answers for it, is away", async () => {
  const fake = startService();
  fake.on("GET /v1/heads", () => new TypeError("fetch failed"));
  fake.on("GET /health/live", () => refusal(502));
  await assert.rejects(service.heads(), ServiceAway);
  await assert.rejects(service.alive(), ServiceAway);
});

test("a refusal says what was wrong", async () => {
  const fake = startService();
  fake.on("DELETE /v1/heads/a", () => refusal(409, { detail: "It is in use." }));
  await assert.rejects(service.removeHead("a"), (error) => error instanceof ServiceError && error.status === 409 && error.message === "It is in use.");
});
