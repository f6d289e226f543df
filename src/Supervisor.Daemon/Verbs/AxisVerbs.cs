using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary>The verbs that take names of axes and nothing else: enable, disable, home, brake, stop, halt, release, reset.</summary>
internal static class AxisVerbs
{
    private delegate Task<CommandResult> Giving(DaemonConnection daemon, string token, IReadOnlyList<string> axes, bool wait, CancellationToken cancellation);

    public static Command Enable() => Build(
        "enable", "Switch torque on.", "all",
        (daemon, token, axes, wait, cancellation) => CommandRun.FollowAsync(
            daemon.Motion.Enable(new EnableRequest { AuthorityToken = token, Axes = { axes } }, cancellationToken: cancellation), answer => answer.Event, wait, cancellation));

    public static Command Disable() => Build(
        "disable", "Stop, close brakes and switch torque off.", "all",
        (daemon, token, axes, wait, cancellation) => CommandRun.FollowAsync(
            daemon.Motion.Disable(new DisableRequest { AuthorityToken = token, Axes = { axes } }, cancellationToken: cancellation), answer => answer.Event, wait, cancellation));

    public static Command Home()
    {
        var confirm = new Option<bool>("--confirm")
        {
            Description = "You have looked: an axis whose zero is only set stands there, and one that is not referenced is out of the way.",
        };
        return Build(
            "home", "Find the zero of axes, in the order of the machine file.", "all that have a homing, in order",
            parsed => (daemon, token, axes, wait, cancellation) => CommandRun.FollowAsync(
                daemon.Motion.Home(
                    new HomeRequest { AuthorityToken = token, Axes = { axes }, Confirm = parsed.GetValue(confirm) }, cancellationToken: cancellation),
                answer => answer.Event, wait, cancellation),
            needsAuthority: true, confirm);
    }

    public static Command Brake() => Build(
        "brake", "Prove brakes: the motor pushes against the closed brake, as the machine file says. Stay clear of the load. Not a safety function.", "all that have a proof",
        (daemon, token, axes, wait, cancellation) => CommandRun.FollowAsync(
            daemon.Motion.ProveBrake(new ProveBrakeRequest { AuthorityToken = token, Axes = { axes } }, cancellationToken: cancellation), answer => answer.Event, wait, cancellation));

    public static Command Reset()
    {
        var supported = new Option<bool>("--load-supported")
        {
            Description = "You have looked: something else carries the load of each axis named, which its motor alone holds since its brake failed. Its torque is taken; the fault stays for another reset.",
        };
        return Build(
            "reset", "Reset faults whose cause is gone, and process interlocks. Emergency stop and guards are reset at the machine.", "all",
            parsed => (daemon, token, axes, wait, cancellation) => CommandRun.FollowAsync(
                daemon.Motion.Reset(
                    new ResetRequest { AuthorityToken = token, Axes = { axes }, LoadSupported = parsed.GetValue(supported) }, cancellationToken: cancellation),
                answer => answer.Event, wait, cancellation),
            needsAuthority: true, supported);
    }

    public static Command Stop() => Build(
        "stop", "Stop axes in order and lock them until `release`; needs no authority. Not an emergency stop.", "all",
        (daemon, _, axes, wait, cancellation) => CommandRun.FollowAsync(
            daemon.Motion.Stop(new StopRequest { Axes = { axes }, RequestedBy = $"{Environment.UserName} (stop, process {Environment.ProcessId})" }, cancellationToken: cancellation), answer => answer.Event, wait, cancellation),
        needsAuthority: false);

    public static Command Halt() => Build(
        "halt", "Bring axes to rest in order; needs no authority. A move may follow. Not an emergency stop.", "all",
        (daemon, _, axes, wait, cancellation) => CommandRun.FollowAsync(
            daemon.Motion.Halt(new HaltRequest { Axes = { axes } }, cancellationToken: cancellation), answer => answer.Event, wait, cancellation),
        needsAuthority: false);

    public static Command Release() => Build(
        "release", "Let axes that were stopped move again.", "all",
        (daemon, token, axes, wait, cancellation) => CommandRun.FollowAsync(
            daemon.Motion.Release(new ReleaseRequest { AuthorityToken = token, Axes = { axes } }, cancellationToken: cancellation), answer => answer.Event, wait, cancellation));

    private static Command Build(string name, string description, string whenNone, Giving give, bool needsAuthority = true) =>
        Build(name, description, whenNone, _ => give, needsAuthority);

    private static Command Build(
        string name, string description, string whenNone, Func<ParseResult, Giving> giving, bool needsAuthority, params Option[] options)
    {
        var axes = ClientOptions.Axes(whenNone);
        var noWait = ClientOptions.NoWait();
        var json = ClientOptions.Json();
        var verb = new Command(name, description) { axes, noWait, json };
        foreach (var option in options)
        {
            verb.Add(option);
        }

        MotionRun.Add(verb, parsed =>
        {
            var give = giving(parsed);
            var names = parsed.GetValue(axes) ?? [];
            return new MotionRun
            {
                Verb = name,
                Axes = names,
                Wait = !parsed.GetValue(noWait),
                Json = parsed.GetValue(json),
                NeedsAuthority = needsAuthority,
                Give = (daemon, token, wait, cancellation) => give(daemon, token, names, wait, cancellation),
            };
        });
        return verb;
    }
}
