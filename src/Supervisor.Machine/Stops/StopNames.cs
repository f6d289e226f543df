namespace Supervisor.Machine.Stops;

/// <summary>Who stopped each axis last, for the sentence that asks for its release.</summary>
internal sealed class StopNames(int axes)
{
    private readonly string[] _names = [.. Enumerable.Repeat("", axes)];

    /// <summary>Empty when it was not said.</summary>
    public string this[int axis]
    {
        get => _names[axis];
        set => _names[axis] = value;
    }
}
