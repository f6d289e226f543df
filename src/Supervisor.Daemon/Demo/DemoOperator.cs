using Supervisor.Api.V1;
using Supervisor.Daemon.Client;
using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Demo;

/// <summary>The demo's operator: gives commands through the API as any client does, and presses buttons of the machine.</summary>
internal sealed class DemoOperator(DaemonConnection daemon, BenchProcess bench, MachineEye eye, DemoVoice voice)
{
    private const string Name = "demo operator";

    // Longer than the 100 ms that a reset button must be seen pressed.
    private static readonly TimeSpan Press = TimeSpan.FromMilliseconds(300);
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);

    public BenchProcess Bench => bench;

    public DemoVoice Voice => voice;

    public Task<CommandResult> HomeAsync(CancellationToken cancellation) => WithAuthorityAsync(
        token => CommandRun.FollowAsync(
            daemon.Motion.Home(new HomeRequest { AuthorityToken = token }, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation),
        cancellation);

    public Task<CommandResult> EnableAsync(IEnumerable<string> axes, CancellationToken cancellation) => WithAuthorityAsync(
        token => CommandRun.FollowAsync(
            daemon.Motion.Enable(new EnableRequest { AuthorityToken = token, Axes = { axes } }, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation),
        cancellation);

    public Task<CommandResult> DisableAsync(CancellationToken cancellation) => WithAuthorityAsync(
        token => CommandRun.FollowAsync(
            daemon.Motion.Disable(new DisableRequest { AuthorityToken = token }, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation),
        cancellation);

    public Task<CommandResult> ResetAsync(CancellationToken cancellation) => WithAuthorityAsync(
        token => CommandRun.FollowAsync(
            daemon.Motion.Reset(new ResetRequest { AuthorityToken = token }, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation),
        cancellation);

    public Task<CommandResult> MoveAsync(string axis, double position, double? velocity, CancellationToken cancellation) => WithAuthorityAsync(
        token =>
        {
            var request = new MoveRequest { AuthorityToken = token, Targets = { new MoveTarget { Axis = axis, Position = position } } };
            if (velocity is { } value)
            {
                request.Velocity = value;
            }

            return CommandRun.FollowAsync(daemon.Motion.Move(request, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation);
        },
        cancellation);

    /// <summary>Presses and releases the button at the machine.</summary>
    public async Task PressResetAsync(CancellationToken cancellation)
    {
        await bench.DoAsync($"input {DemoFiles.ResetButton} 1", cancellation);
        await Task.Delay(Press, cancellation);
        await bench.DoAsync($"input {DemoFiles.ResetButton} 0", cancellation);
    }

    public Task<MachineStatus> SeeAsync(string what, Func<MachineStatus, bool> condition, CancellationToken cancellation) =>
        eye.SeeAsync(what, condition, Patience, cancellation);

    /// <summary>A command that must get done.</summary>
    public static async Task MustDoAsync(string what, Task<CommandResult> command)
    {
        var result = await command;
        if (!result.IsGood)
        {
            throw new DemoFailedException($"{what}: {Words(result)}");
        }
    }

    /// <summary>A command that must be refused for one of the reasons.</summary>
    public async Task MustBeRefusedAsync(string what, Task<CommandResult> command, params string[] reasons)
    {
        var result = await command;
        if (result.Refusal is not { } refusal || !reasons.Contains(refusal.Reason))
        {
            throw new DemoFailedException($"{what} should have been refused with {string.Join(" or ", reasons)}, but: {Words(result)}");
        }

        voice.Say($"{what}: refused: {Terminal.Sentence(refusal)}");
    }

    public static string Words(CommandResult result) => result switch
    {
        { Refusal: { } refusal } => Terminal.Sentence(refusal),
        { Ended: { } ended } => $"{Text.Of(ended.Outcome)}: {ended.Message} ({ended.Reason})",
        _ => "accepted",
    };

    private async Task<CommandResult> WithAuthorityAsync(Func<string, Task<CommandResult>> give, CancellationToken cancellation)
    {
        await using var authority = await HeldAuthority.TakeAsync(daemon, Name, cancellation);
        var result = await give(authority.Token);
        await authority.ReleaseAsync(letCommandsFinish: true);
        return result;
    }
}
