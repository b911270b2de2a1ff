/** The OpenAPI document, generated from the contract: the schemas that check are the schemas that document. */
import * as z from 'zod/mini';
import { type FileRoute, fileRoutes, problem, type Route, routes } from '../contract/index.ts';

const jsonSchema = (schema: z.ZodMiniType, io: 'input' | 'output') => {
  const { $schema, ...rest } = z.toJSONSchema(schema, {
    target: 'draft-2020-12',
    io,
    unrepresentable: 'any',
  });
  return rest;
};

const json = (schema: object, type = 'application/json') => ({ content: { [type]: { schema } } });

function parameters(route: Pick<Route, 'params' | 'query'>) {
  const of = (schema: z.ZodMiniType | undefined, where: 'path' | 'query') => {
    if (!schema) return [];
    const { properties = {}, required = [] } = jsonSchema(schema, 'input') as {
      properties?: Record<string, object>;
      required?: string[];
    };
    return Object.entries(properties).map(([name, shape]) => ({
      name,
      in: where,
      required: where === 'path' || required.includes(name),
      schema: shape,
    }));
  };
  return [...of(route.params, 'path'), ...of(route.query, 'query')];
}

function operation(name: string, route: Route) {
  const problems = json(jsonSchema(problem, 'output'), 'application/problem+json');
  const body =
    name === 'addReadings'
      ? { content: { 'application/senml+json': { schema: { type: 'array', items: { type: 'object' } } } } }
      : route.body && json(jsonSchema(route.body, 'input'));
  return {
    operationId: name,
    summary: route.summary,
    parameters: parameters(route),
    ...(body ? { requestBody: { required: true, ...body } } : {}),
    ...(route.asks === 'gateway token' ? { security: [{ gatewayToken: [] }] } : {}),
    responses: {
      200: { description: 'Done', ...json(jsonSchema(route.answer, 'output')) },
      default: { description: 'What is wrong, in a sentence that names the field', ...problems },
    },
  };
}

function fileOperation(name: string, route: FileRoute) {
  const schema = route.answer ? jsonSchema(route.answer, 'output') : { type: 'string', format: 'binary' };
  const picture = { 'image/*': { schema: { type: 'string', format: 'binary' } } };
  return {
    operationId: name,
    summary: route.summary,
    parameters: parameters(route),
    ...(route.method === 'put' ? { requestBody: { required: true, content: picture } } : {}),
    responses: {
      200: { description: 'Done', ...json(schema, route.gives) },
      default: {
        description: 'What is wrong, in a sentence that names the field',
        ...json(jsonSchema(problem, 'output'), 'application/problem+json'),
      },
    },
  };
}

export function openApiDocument(version: string) {
  const paths: Record<string, Record<string, object>> = {};
  for (const [name, route] of Object.entries(routes)) {
    paths[route.path] = { ...paths[route.path], [route.method]: operation(name, route) };
  }
  for (const [name, route] of Object.entries(fileRoutes)) {
    paths[route.path] = { ...paths[route.path], [route.method]: fileOperation(name, route) };
  }
  return {
    openapi: '3.1.0',
    info: { title: 'crownwatch', version, description: 'Climate to wood to pitch to advice.' },
    paths,
    components: { securitySchemes: { gatewayToken: { type: 'http', scheme: 'bearer' } } },
  };
}
