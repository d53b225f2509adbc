# The steps are those of tools/image-steps.sh, which the tests run without a container engine.
FROM node:20-bookworm-slim
WORKDIR /app
COPY --chown=node:node . .
RUN sh tools/image-steps.sh
USER node
CMD ["node", "apps/api/dist/whole/main.js"]
