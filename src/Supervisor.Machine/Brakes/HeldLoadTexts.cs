namespace Supervisor.Machine.Brakes;

/// <summary>Sentences of a load that its motor holds alone, since its brake has failed.</summary>
internal static class HeldLoadTexts
{
    /// <summary>What is the matter and what to do.</summary>
    public static string Held(string name) =>
        $"the motor of {name} alone holds its load, since its brake has failed, and whatever takes its torque lets the load sink: "
        + $"keep away from under it, support it, then say so with reset {name} --load-supported";

    /// <summary>Support was told of an axis that is faulted or not, but holds no load.</summary>
    public static string NotHeld(string name) => $"the motor of {name} holds no load alone: leave --load-supported out";

    /// <summary>It says that it is supported, and still moves.</summary>
    public static string Moves(string name) => $"the load of {name} still moves: wait until it stands, and look again whether it is supported";

    /// <summary>The torque is off; the fault is still latched.</summary>
    public static string LetGo(string name) => $"the torque of {name} is off, and its load is on its support: have the brake seen to, then reset {name}";

    /// <summary>The supervisor ends while it is held.</summary>
    public static string LeftHeld(string name, TimeSpan timeout) =>
        $"the motor of {name} alone holds its load and goes on as its drive does without the supervisor: after {timeout.TotalMilliseconds:0} ms of silence "
        + "the drive may take its torque, and the load sinks: keep away from under it and support it";
}
