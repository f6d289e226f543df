namespace Supervisor.Machine.Api;

/// <summary>One zone. It protects the machine, not people.</summary>
/// <param name="Name">Name in the machine file.</param>
/// <param name="Clear">True while it forbids no axis anything; where a pair keeps a distance, while it is kept.</param>
/// <param name="HeldBy">Names of the axes that stand, or may come to be, where they hold it, or whose place is not known.</param>
/// <param name="WhatToDo">One sentence for the operator; empty when nothing is to do.</param>
public sealed record ZoneStatus(string Name, bool Clear, IReadOnlyList<string> HeldBy, string WhatToDo);
