namespace Supervisor.History.Writing;

/// <summary>What the writer does next.</summary>
internal enum WriterStep : byte
{
    /// <summary>Call again at once.</summary>
    GoOn,

    /// <summary>There is nothing to do until a record comes.</summary>
    Wait,

    /// <summary>What there is may wait for more: call again once something pressing has come, a batch has gathered, or the bulk interval is over.</summary>
    Linger,

    /// <summary>The disk failed: call again after the retry interval.</summary>
    Pause,

    /// <summary>Everything is stored or given up.</summary>
    End,
}
