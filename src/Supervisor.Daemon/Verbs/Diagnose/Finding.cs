namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>How a finding is to be taken.</summary>
public enum FindingState
{
    /// <summary>As it should be.</summary>
    Good = 0,

    /// <summary>Worth knowing; nothing is wrong.</summary>
    Note = 1,

    /// <summary>Wrong, with what to do about it.</summary>
    Wrong = 2,
}

/// <summary>One thing that was found.</summary>
/// <param name="State">How it is to be taken.</param>
/// <param name="What">What was found, without a full stop.</param>
/// <param name="WhatToDo">What to do next; empty where nothing is.</param>
public sealed record Finding(FindingState State, string What, string WhatToDo)
{
    public static Finding Good(string what) => new(FindingState.Good, what, "");

    public static Finding Note(string what, string whatToDo = "") => new(FindingState.Note, what, whatToDo);

    public static Finding Wrong(string what, string whatToDo) => new(FindingState.Wrong, what, whatToDo);
}

/// <summary>What was looked at, and what was found of it.</summary>
/// <param name="Kind">port, drive, module, input or output.</param>
/// <param name="Name">Name in the machine file.</param>
/// <param name="Place">Where it is.</param>
/// <param name="Findings">In the order in which they were found.</param>
public sealed record DiagnosedThing(string Kind, string Name, string Place, IReadOnlyList<Finding> Findings);
