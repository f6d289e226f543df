namespace Supervisor.Daemon.Plotting;

/// <summary>One quantity over time: a field of a plot with a scale of its own.</summary>
/// <param name="Title">What is shown, such as <c>velocity</c>.</param>
/// <param name="Unit">Its unit; may be empty.</param>
/// <param name="Series">What is drawn.</param>
public sealed record PlotPanel(string Title, string Unit, IReadOnlyList<PlotSeries> Series)
{
    /// <summary>True for what is on or off: each series has a lane of its own instead of a common scale, its values are 0 and 1, and it changes in steps.</summary>
    public bool IsDigital { get; init; }
}

/// <summary>One line of a panel.</summary>
/// <param name="Name">What stands beside it.</param>
/// <param name="Points">Its points, by time; a value that is not finite breaks the line.</param>
public sealed record PlotSeries(string Name, IReadOnlyList<PlotPoint> Points);

/// <summary>A point.</summary>
/// <param name="Seconds">Time.</param>
/// <param name="Value">Value in the panel's unit.</param>
public readonly record struct PlotPoint(double Seconds, double Value);

/// <summary>A time that is marked through all panels.</summary>
/// <param name="Seconds">Where.</param>
/// <param name="Text">What it is; a few words.</param>
public readonly record struct PlotMark(double Seconds, string Text);

/// <summary>A span of time that is told apart through all panels: nothing is known of it.</summary>
/// <param name="From">Begin, seconds.</param>
/// <param name="To">End, seconds.</param>
public readonly record struct PlotGap(double From, double To);
