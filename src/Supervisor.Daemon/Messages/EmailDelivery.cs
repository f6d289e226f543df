using System.Net.Sockets;
using System.Text;
using MailKit;
using MailKit.Net.Smtp;
using MailKit.Security;
using MimeKit;
using MimeKit.Text;
using Supervisor.Configuration.Machines.Messages;
using Supervisor.History.Outbox;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Messages;

/// <summary>Sends messages as mail (RFC 5321, RFC 5322).</summary>
/// <param name="email">What the machine file says.</param>
/// <param name="machine">Name of the machine, the sender's name.</param>
internal sealed class EmailDelivery(EmailDefinition email, string machine) : IDelivery
{
    private static readonly TimeSpan GoodbyeTime = TimeSpan.FromSeconds(2);

    /// <inheritdoc/>
    public async Task<DeliveryResult> SendAsync(OutboxMessage message, CancellationToken cancellation)
    {
        // Only what the server says of the message itself may be for good: of the connection it may be of another mind later.
        var isSending = false;
        try
        {
            using var mail = Write(message);
            using var client = new Submission { CheckCertificateRevocation = false };
            if (email.CertificateAuthority is { } path)
            {
                client.ServerCertificateValidationCallback = CertificateCheck.By(path);
            }

            var password = email.Password is { } place ? Secrets.Read(place) : null;
            await client.ConnectAsync(email.Server, email.Port, OptionsOf(email.Security), cancellation);
            if (email.User is { } user)
            {
                await client.AuthenticateAsync(Encoding.UTF8, user, password ?? "", cancellation);
            }

            isSending = true;
            var answer = await client.SendAsync(mail, cancellation);
            await LeaveAsync(client);
            return new DeliveryResult(DeliveryOutcome.Taken, client.NotAccepted.Count == 0 ? OneLine(answer) : $"{OneLine(answer)}; not taken for {string.Join(", ", client.NotAccepted)}");
        }
        catch (SecretException exception)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, exception.Message);
        }
        catch (OperationCanceledException)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, $"{email.Server} did not answer in time.", IsOfMessage: isSending);
        }
        catch (SmtpCommandException exception)
        {
            // 5xx: permanent (RFC 5321, 4.2.1).
            var told = $"{email.Server} said {(int)exception.StatusCode} {OneLine(exception.Message)}";
            return new DeliveryResult(isSending && (int)exception.StatusCode >= 500 ? DeliveryOutcome.Refused : DeliveryOutcome.NotNow, told, IsOfMessage: isSending);
        }
        catch (AuthenticationException exception)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, $"{email.Server} does not let {email.User} in: {OneLine(exception.Message)}");
        }
        catch (SslHandshakeException)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, $"{email.Server}:{email.Port} can't be spoken to under TLS: its certificate is not trusted, or it speaks without; see security and certificateAuthority in the machine file.");
        }
        catch (NotSupportedException)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, $"{email.Server}:{email.Port} does not offer what the machine file asks for (STARTTLS, or a way to log in).");
        }
        catch (Exception exception) when (exception is SocketException or IOException or ProtocolException or ServiceNotConnectedException)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, $"{email.Server}:{email.Port}: {OneLine(exception.Message)}", IsOfMessage: isSending);
        }
#pragma warning disable CA1031 // Whatever the network does, the channel goes on.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, $"{exception.GetType().Name}: {OneLine(exception.Message)}");
        }
    }

    /// <summary>The mail, the same at every attempt.</summary>
    internal MimeMessage Write(OutboxMessage message)
    {
        var content = message.Content!;
        var mail = new MimeMessage { Subject = OneLine(content.Subject), MessageId = IdOf(message.Identity) };
        mail.From.Add(new MailboxAddress(OneLine(machine), email.From));
        mail.To.AddRange(email.To.Select(MailboxAddress.Parse));
        mail.Body = new TextPart(TextFormat.Plain) { Text = content.Body };

        // Nobody's answering machine is to answer it (RFC 3834, 5).
        mail.Headers.Add("Auto-Submitted", "auto-generated");
        if (message.Priority >= (int)FaultPriority.High)
        {
            mail.Importance = MessageImportance.High;
        }

        if (MessageIdentity.IncidentOf(message.Identity) is { } incident)
        {
            mail.InReplyTo = IdOf(incident);
            mail.References.Add(IdOf(incident));
        }

        if (content.Written is { } written)
        {
            mail.Date = written.ToLocalTime();
        }
        else
        {
            // A date that is wrong is worse than none: the server that takes it in adds its own (RFC 6409, 8.1).
            mail.Headers.Remove(HeaderId.Date);
        }

        return mail;
    }

    private string IdOf(string identity) => $"{identity}@{email.From[(email.From.LastIndexOf('@') + 1)..]}";

    private static SecureSocketOptions OptionsOf(MailSecurity security) => security switch
    {
        MailSecurity.Tls => SecureSocketOptions.SslOnConnect,
        MailSecurity.None => SecureSocketOptions.None,
        _ => SecureSocketOptions.StartTls,
    };

    // The message is the server's by now, whatever becomes of the goodbye.
    private static async Task LeaveAsync(SmtpClient client)
    {
        using var limit = new CancellationTokenSource(GoodbyeTime);
        try
        {
            await client.DisconnectAsync(quit: true, limit.Token);
        }
#pragma warning disable CA1031
        catch (Exception)
#pragma warning restore CA1031
        {
        }
    }

    private static string OneLine(string text)
    {
        var line = string.Concat(text.Select(letter => char.IsControl(letter) ? ' ' : letter)).Trim();
        return line.Length > 300 ? line[..300] : line;
    }

    /// <summary>A receiver that the server does not know must not keep the message from the others.</summary>
    private sealed class Submission : SmtpClient
    {
        public List<string> NotAccepted { get; } = [];

        protected override void OnRecipientNotAccepted(MimeMessage message, MailboxAddress mailbox, SmtpResponse response) =>
            NotAccepted.Add($"{mailbox.Address} ({(int)response.StatusCode})");

        protected override void OnNoRecipientsAccepted(MimeMessage message) => throw new SmtpCommandException(
            SmtpErrorCode.RecipientNotAccepted, NotAccepted.TrueForAll(each => each.Contains("(5", StringComparison.Ordinal)) ? SmtpStatusCode.MailboxUnavailable : SmtpStatusCode.MailboxBusy,
            $"none of the receivers: {string.Join(", ", NotAccepted)}");
    }
}
