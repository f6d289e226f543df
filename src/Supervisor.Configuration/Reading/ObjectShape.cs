namespace Supervisor.Configuration.Reading;

/// <summary>The members an object may have.</summary>
/// <param name="Name">Name of the shape in the published schema.</param>
/// <param name="Members">Member names.</param>
internal sealed record ObjectShape(string Name, params string[] Members);
